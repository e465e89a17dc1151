"""The binary under test and dogs to give it. Without the binary its tests fail; they never skip."""

from __future__ import annotations

import json
import os
import pathlib
import subprocess
import sys

import pytest

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent
sys.path.insert(0, str(HERE.parent))


@pytest.fixture(scope="session")
def binary() -> str:
    path = pathlib.Path(os.environ.get("COATWRIGHT", ROOT / "target" / "release" / "coatwright")).resolve()
    assert path.is_file(), f"no binary at `{path}`: build it with `cargo build --release`, or set COATWRIGHT"
    return str(path)


@pytest.fixture(scope="session")
def ask(binary):
    """Runs the binary; gives its standard output."""

    def run(*words, json_out: bool = False):
        done = subprocess.run([binary, *map(str, words)], capture_output=True, text=True, timeout=600)
        assert done.returncode == 0, f"{' '.join(map(str, words))}\n{done.stdout[-500:]}\n{done.stderr[-2000:]}"
        return json.loads(done.stdout, parse_constant=_no_such_number) if json_out else done.stdout

    return run


def _no_such_number(word: str):
    raise AssertionError(f"`{word}` is no JSON number")


@pytest.fixture(scope="session")
def examples() -> list[pathlib.Path]:
    found = sorted((ROOT / "examples").glob("*.toml"))
    assert found, "no example dogs"
    return found
