"""Pictures as a reader of another family sees them: Python's expat parses what the binary writes."""

from __future__ import annotations

import pathlib
import re
import xml.etree.ElementTree as ET

import pytest

EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "examples"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def pictures(ask, tmp_path_factory):
    """Every SVG of two dogs in every theme, by name."""
    found = {}
    for dog in ("overgrown", "show"):
        for theme in ("light", "dark", "print"):
            into = tmp_path_factory.mktemp(f"{dog}-{theme}")
            on = ("--on", "2026-11-25", "--theme", theme)
            file = EXAMPLES / f"{dog}.toml"
            ask("plan", file, *on, "--no-timing", "--section-of", "jacket", "--out", into)
            ask("sheet", file, *on, "--out", into / "sheet.svg")
            found.update({f"{dog} {theme} {p.name}": p.read_text("utf-8") for p in into.glob("*.svg")})
    assert len(found) == 24
    return found


def test_every_picture_is_well_formed(pictures):
    for name, text in pictures.items():
        root = ET.fromstring(text)
        assert root.tag == f"{SVG}svg", name
        _, _, width, height = map(float, root.get("viewBox").split())
        assert width > 0 and height > 0, name
        ids = [e.get("id") for e in root.iter() if e.get("id")]
        assert len(ids) == len(set(ids)), f"{name}: an id twice"
        # What is drawn with a definition finds it.
        for used in re.findall(r"url\(#([^)]+)\)", text):
            assert used in ids, f"{name}: {used}"


def test_every_picture_says_what_it_shows(pictures):
    for name, text in pictures.items():
        root = ET.fromstring(text)
        assert root.get("role") == "img", name
        said = {e.get("id"): e.text for e in root if e.tag in (f"{SVG}title", f"{SVG}desc")}
        for word in root.get("aria-labelledby").split():
            assert len(said[word].strip()) > 5, f"{name}: {word}"


def test_every_path_is_made_of_numbers(pictures):
    number = r"-?(?:\d+\.?\d*|\.\d+)"
    path = re.compile(rf"(?:[MLHVQqClhvmzZ]\s*(?:{number}[\s,]*)*)+")
    for name, text in pictures.items():
        for e in ET.fromstring(text).iter():
            if e.tag == f"{SVG}path":
                assert path.fullmatch(e.get("d")), f"{name}: {e.get('d')[:80]}"


def test_no_picture_is_too_large(pictures):
    for name, text in pictures.items():
        assert len(text.encode()) < 300_000, name
