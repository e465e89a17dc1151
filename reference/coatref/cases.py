"""Dogs as the references need them: zone values, histories in day numbers.

The zones and coat types below were typed from the model's description, not taken
from the binary; a test compares the two.
"""

from __future__ import annotations

import datetime as dt
import json
import pathlib
import subprocess
import tomllib

import numpy as np

from . import exact, expected

COATS = {  # lag, grow, set as (mean, sd), hold, growth_mm_d, start_hard
    "pin wire": ((28, 4), (63, 12), (14, 4), 250, 0.33, 0.7),
    "wire": ((28, 4), (72, 14), (14, 4), 250, 0.33, 0.6),
    "long wire": ((28, 4), (185, 30), (14, 4), 250, 0.33, 0.6),
    "soft wire": ((28, 4), (72, 14), (14, 4), 250, 0.33, 0.3),
}
_SHORT = ("short", 21, 42, 10, 0.28)
_J = ("layered", None, None, None, None)
_LEG = ("layered", None, 119, 21, 0.35)
ZONES = {  # mode, lag, grow, set, growth, target, area, jacket, card
    "skull": (*_SHORT, 10, 0.025, False, False),
    "foreface": (*_SHORT, 5, 0.015, False, False),
    "brows": ("shaped", None, 180, None, 0.35, 45, 0.01, False, False),
    "cheeks": (*_SHORT, 8, 0.03, False, False),
    "ears": ("short", 18, 35, 10, 0.25, 6, 0.03, False, False),
    "beard": ("shaped", None, 210, None, 0.38, 60, 0.025, False, False),
    "throat": (*_SHORT, 8, 0.03, False, False),
    "crest": (*_J, 18, 0.04, True, True),
    "neck_sides": (*_J, 15, 0.03, True, True),
    "shoulders": (*_J, 18, 0.08, True, True),
    "back": (*_J, 20, 0.10, True, True),
    "sides": (*_J, 20, 0.12, True, True),
    "loin": (*_J, 20, 0.05, True, True),
    "rump": ("layered", None, None, None, 0.28, 18, 0.05, True, True),
    "forechest": (*_J, 18, 0.04, True, False),
    "underline": ("layered", None, 84, None, 0.30, 25, 0.06, False, False),
    "inner_thighs": ("never", None, None, None, None, None, 0.02, False, False),
    "seat": (*_SHORT, 8, 0.015, False, False),
    "tail": (*_J, 18, 0.02, False, False),
    "tail_back": (*_SHORT, 8, 0.01, False, False),
    "thighs": (*_J, 20, 0.06, True, True),
    "forelegs": (*_LEG, 35, 0.06, False, False),
    "hind_legs": (*_LEG, 35, 0.06, False, False),
    "feet": ("shaped", None, 60, None, 0.30, 15, 0.02, False, False),
}
FLOOR = {"layered": 0.55, "short": 0.4, "shaped": 0.85, "never": 0.0}
CUTTING = {"brows", "ears", "throat", "forechest", "underline", "seat", "tail_back", "feet"}
"""Zones where a work cuts hair: how much is the product's own datum, so hardness is not compared there."""


def zone_values(coat: str, zone: str) -> dict:
    """A zone of a coat type as `exact.py` and `follicles.py` want it; the sd scales with the mean."""
    lag, grow, set_, hold, growth, start = COATS[coat]
    _, own_lag, own_grow, own_set, own_growth = ZONES[zone][:5]

    def wait(own, base):
        mean, sd = base
        return [float(mean), float(sd)] if own is None else [float(own), sd * own / mean]

    return {
        "lag": wait(own_lag, lag), "grow": wait(own_grow, grow), "set": wait(own_set, set_),
        "hold": float(hold), "growth_mm_d": own_growth or growth, "start_hard": start, "rhythm_days": 21,
    }


def _date(x) -> dt.date:
    return x if isinstance(x, dt.date) else dt.date.fromisoformat(x)


def _members(record: dict) -> list[str]:
    names = record.get("zones", record.get("zone"))
    names = [names] if isinstance(names, str) else names
    out: list[str] = []
    for n in names:
        out += [z for z in ZONES if n == "all" or ZONES[z][7]] if n in ("all", "jacket") else [n]
    return out


class Case:
    """A dog file: coat type, history, and the events of each zone in day numbers (`date.toordinal`)."""

    def __init__(self, path: pathlib.Path):
        self.doc = tomllib.loads(pathlib.Path(path).read_text())
        self.coat = self.doc["coat"]
        self.born = _date(self.doc["born"])

    def events(self, zone: str) -> list[dict]:
        """The history of one zone. Only what the references can follow; anything else is an error."""
        out: list[dict] = []
        for h in self.doc.get("history", []):
            day, kind = _date(h["date"]).toordinal(), h["event"]
            if kind in ("left alone", "flat"):
                out.append({"day": day, "kind": kind.replace(" ", "_")})
            elif kind == "clipped":
                out.append({"day": day, "kind": "clip", "length_mm": h["length_mm"]})
            elif kind == "visit":
                pulled = [r.get("pulled") for r in h.get("zones", []) if zone in _members(r)]
                pulled = [p for p in pulled if p is not None]
                if len(pulled) > 1:
                    raise ValueError(f"zone `{zone}` stands twice in one visit")
                share = pulled[0] if pulled else 0.0
                if share == "all ripe":
                    out.append({"day": day, "kind": "take_all_ripe"})
                else:
                    if isinstance(share, str):
                        one, n = share.split(" in ")
                        share = float(one) / float(n)
                    out.append({"day": day, "kind": "take_share_of_visible", "share": float(share)})
            elif kind != "missed":
                raise ValueError(f"the references do not know the event `{kind}`")
        if not out or out[0]["kind"].startswith("take"):
            raise ValueError("the references need a history that begins `left alone`, `flat` or `clipped`")
        return out

    def rows(self, zone: str, days: list[int]) -> list[dict]:
        """Measures by `exact.py` on the given days and before and after each event."""
        return exact.run(zone_values(self.coat, zone), self.events(zone), days)


def columns(zones: list[dict]) -> dict[str, np.ndarray]:
    """Zones as the columns that `expected.py` wants."""
    keys = ("lag", "grow", "set", "hold", "growth_mm_d", "start_hard")
    return {k: np.array([z[k] for z in zones], dtype=float).T for k in keys}


def dogs(n: int, coat: str = "wire", seed: int = 1) -> tuple[dict[str, np.ndarray], np.ndarray, np.ndarray]:
    """`n` dogs of 24 zones with lognormal spreads: columns, share each visit takes, whether carded."""
    rng = np.random.default_rng(seed)
    zones, share, card = [], [], []
    for _ in range(n):
        k = {key: float(np.exp(rng.normal(0, sd))) for key, sd in
             {"lag": 0.2, "grow": 0.2, "set": 0.3, "hold": 0.4, "growth_mm_d": 0.15}.items()}
        for name, row in ZONES.items():
            z = zone_values(coat, name)
            for key in ("lag", "grow", "set"):
                z[key] = [k[key] * x for x in z[key]]
            z["hold"] *= k["hold"]
            z["growth_mm_d"] *= k["growth_mm_d"]
            zones.append(z)
            share.append({"layered": 0.2, "short": 0.6, "shaped": 0.1, "never": 0.0}[row[0]])
            card.append(row[8])
    return columns(zones), np.array(share), np.array(card)


def forecast_dogs(n: int, weeks: int = 26, every: int = 21):
    """Forecast of `n` dogs, weekly and before and after each visit."""
    zones, share, card = dogs(n)
    visits = list(range(0, 7 * weeks, every))
    return expected.forecast_grouped(zones, visits, share, card, list(range(0, 7 * weeks + 1, 7)))


def defaults(binary: str) -> dict:
    """What the binary says of zones and coat types."""
    done = subprocess.run([binary, "coat", "--defaults", "--json"], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)
