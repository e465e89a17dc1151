"""`coatwright plan`: the linear programme by other solvers, and the form of the answer."""

from __future__ import annotations

import pathlib

import pytest

from coatref.lp import Programme

TODAY = "2026-11-25"
EXAMPLES = sorted((pathlib.Path(__file__).resolve().parent.parent.parent / "examples").glob("*.toml"))
KEYS = {
    "": "schema today rhythm_days visits forecast milestones ways ladder late objective",
    "visits": "date min zones",
    "visits.zones": "zone works amount share of_follicles layer_mm leave min reason cautions",
    "forecast": "date at dog zones",
    "forecast.dog": "cover ripe evenness hard",
    "forecast.zones": "zone cover ripe top_mm layers evenness hard wool",
    "milestones": "rolling furnishings hard",
    "ladder": "rhythm_days share cover evenness outline_mm visits_per_year min_per_year recommended",
    "late": "days_late cost visits_to_recover",
    "objective": "lp_value bound gap rounded_value",
}


def keys_of(doc, path=""):
    """Every object under `path`, with the path it stands at."""
    if isinstance(doc, list):
        for x in doc:
            yield from keys_of(x, path)
    elif isinstance(doc, dict):
        yield path, doc
        for k, v in doc.items():
            yield from keys_of(v, f"{path}.{k}".lstrip("."))


@pytest.fixture(scope="module")
def plans(ask):
    return {p.stem: ask("plan", p, "--on", TODAY, "--json", "--no-timing", json_out=True) for p in EXAMPLES}


def test_there_are_examples(examples):
    assert len(examples) >= 5


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_programme_by_other_solvers(ask, plans, tmp_path, path):
    """linprog, GLOP and, up to 20 000 columns (a minute above), GLPK find lp_value within 1e-6."""
    mps = tmp_path / "dog.mps"
    ask("plan", path, "--on", TODAY, "--programme", mps)
    p = Programme(mps)
    want = plans[path.stem]["objective"]["lp_value"]
    found = {"linprog": p.by_linprog(), "glop": p.by_glop()}
    if len(p.cost) <= 20_000:
        found["glpk"] = p.by_glpk()
    for name, value in found.items():
        assert abs(value - want) <= 1e-6 * max(1.0, abs(want)), (name, value, want)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_form(plans, path):
    """Keys are there, shares are shares, dates rise; numbers that are none were refused on reading."""
    doc = plans[path.stem]
    assert doc["schema"] == "coatwright.plan/1" and doc["today"] == TODAY
    for at, found in keys_of(doc):
        missing = set(KEYS.get(at, "").split()) - set(found)
        assert not missing, f"`{at}` lacks {sorted(missing)}"
        for k in ("cover", "ripe", "evenness", "hard", "wool", "share", "of_follicles"):
            x = found.get(k)
            if isinstance(x, (int, float)):
                assert -1e-9 <= x <= 1 + 1e-9, (at, k, x)
    dates = [v["date"] for v in doc["visits"]]
    assert dates == sorted(dates) and all(d >= TODAY for d in dates)
    rungs = [x["rhythm_days"] for x in doc["ladder"]]  # the dog's own rhythm may stand between
    assert rungs == sorted(rungs) and set(rungs) >= {7, 10, 14, 21, 28}
    assert sum(bool(x["recommended"]) for x in doc["ladder"]) == 1


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_rounding_costs_at_most_a_tenth(plans, path):
    """Exact <= rounded <= 1.1 exact; the bound lies below the exact value and the gap closes."""
    o = plans[path.stem]["objective"]
    assert o["lp_value"] - 1e-6 <= o["rounded_value"] <= 1.1 * o["lp_value"] + 1e-9, o
    assert o["bound"] <= o["lp_value"] + 1e-6 and 0 <= o["gap"] <= 1e-6, o


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_late_days_are_in_order(plans, path):
    """Days late rise and lie in 1..=42."""
    late = plans[path.stem]["late"]
    days = [x["days_late"] for x in late]
    assert days == sorted(days) and all(1 <= d <= 42 for d in days if d)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_same_bytes_twice(ask, path):
    words = ("plan", path, "--on", TODAY, "--json", "--no-timing")
    assert ask(*words) == ask(*words)
