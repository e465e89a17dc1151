"""`coatwright learn` against importance sampling on the same model and data, the coat by `expected.py`.

Outside check 20: posterior means within 0.1 posterior sd, ends of the 80 % interval within 0.15.
"""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from coatref import cases, posterior

DAY0 = dt.date(2026, 1, 5)
FEEL = ("soft", "between", "harsh")
# name: coat, zone, true logarithms, rhythm, share pulled, which kinds are read at visit i
RECORDS = {
    "every kind": ("wire", "back", (0.25, 0.15, 0.1, -0.2, -0.1), 21, 0.12,
                   lambda i: ("longest", "new_layer", "ease", "new_hair") + (("cover", "feel") if i % 2 else ())),
    "comb depths": ("wire", "thighs", (-0.2, -0.15, 0.2, 0.3, 0.12), 28, 0.15,
                    lambda i: ("longest_depth", "new_layer_depth", "ease")),
    "little": ("pin wire", "rump", (0.1, -0.2, 0.0, 0.0, 0.1), 21, 0.1,
               lambda i: ("longest",) if i % 2 else ("new_hair",)),
}
VISITS = 8


def readings(kinds, coat, worked, pulled, rng):
    """Answers of hands that err, off the true coat."""
    out = []
    for kind in kinds:
        name, depth = kind.removesuffix("_depth"), kind.endswith("_depth")
        if name in ("longest", "new_layer"):
            if name == "new_layer":
                seen = [coat.layer(coat.day - d) for d in sorted(worked, reverse=True)]
                seen = [mm[0] for through, mm in seen if through[0] > 0.5]
                if not seen:
                    continue
                m, rel = seen[0], 0.08
            else:
                m, rel = coat.top99()[0], 0.05
            mm = max(1.0, round(m + np.hypot(1.0, rel * m) * rng.standard_normal()))
            out.append({"kind": name, "depth": 1 + int((mm >= posterior.COMB_MM).sum())} if depth else {"kind": name, "mm": mm})
        elif name == "ease":
            z = np.log((coat.ripe[0] / coat.cover()[0] + 0.02) / (pulled + 0.02)) + 0.4 * rng.standard_normal()
            out.append({"kind": name, "answer": 1 + int((z < posterior.EASE_CUTS).sum()), "pulled": pulled})
        elif name == "new_hair":
            z = (np.log(coat.young()[0] + 0.002) - np.log(0.04)) / 0.5
            out.append({"kind": name, "answer": bool(rng.standard_normal() < z)})
        elif name == "cover":
            out.append({"kind": name, "answer": float(np.clip(round(coat.cover()[0] + 0.06 * rng.standard_normal(), 2), 0.05, 0.95))})
        else:
            out.append({"kind": name, "answer": int(rng.integers(1, 3))})
    return out


def record(name):
    """Visits with their readings, drawn once and for all; the last visit is read and not worked."""
    coat_type, zone, x, every, pulled, kinds = RECORDS[name]
    rng = np.random.default_rng(sum(map(ord, name)))
    coat = posterior.Sights(posterior.zones_at(coat_type, zone, np.array([x])), every * VISITS)
    worked, visits = [], []
    for i in range(VISITS):
        while coat.day < every * i:
            coat.step()
        visits.append({"day": coat.day, "pulled": pulled, "readings": readings(kinds(i), coat, worked, pulled, rng)})
        assert pulled * coat.cover()[0] < 0.8 * coat.ripe[0], "records stay well below the ripe hair"
        coat.visit(np.array([pulled]), np.zeros(1, bool))
        worked.append(coat.day)
    return visits


def write(path, name, visits):
    coat_type, zone, *_ = RECORDS[name]
    lines = ['schema = "coatwright.dog/1"', f'name = "{name}"', "born = 2021-03-01", 'sex = "bitch"', "mass_kg = 9.0",
             f'coat = "{coat_type}"', "density = 1.0",
             "[[history]]", f"date = {DAY0}", 'event = "left alone"']
    for v in visits:
        lines += ["[[history]]", f"date = {DAY0 + dt.timedelta(v['day'])}", 'event = "visit"',
                  "[[history.zones]]", f'zone = "{zone}"', f"pulled = {v['pulled']}"]
        for r in v["readings"]:
            key = {"ease": "ease", "new_hair": "new_hair", "cover": "cover_by_eye", "feel": "feel"}.get(r["kind"])
            if key is None:
                key = f"{r['kind']}_{'mm' if 'mm' in r else 'depth'}"
            value = r.get("mm", r.get("depth", r.get("answer")))
            value = f'"{FEEL[value]}"' if key == "feel" else str(value).lower()
            lines.append(f"{key} = {value}")
        if not any(r["kind"] == "ease" for r in v["readings"]):
            # a share without its ease says that it came
            v["readings"].append({"kind": "came", "pulled": v["pulled"]})
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.mark.parametrize("name", RECORDS)
def test_posterior_agrees(ask, tmp_path, name):
    """Means within 0.1 posterior sd, ends of the 80 % interval within 0.15.

    With n effective draws a mean is off by 1 / sqrt(n) posterior sd and an end by about 1.7 / sqrt(n) (of a normal:
    sqrt(0.1 * 0.9) / 0.1755), so with the draws asked for here neither side comes near the limits by chance.
    """
    coat_type, zone, *_ = RECORDS[name]
    visits = record(name)
    path = write(tmp_path / "dog.toml", name, visits)
    last = DAY0 + dt.timedelta(visits[-1]["day"])
    doc = ask("learn", path, "--on", last, "--quick", "--thorough", "--json", json_out=True)
    got = next(z for z in doc["zones"] if z["zone"] == zone)
    assert len(got["from_readings"]) == sum(len(v["readings"]) for v in visits)
    x, w, effective = posterior.sample(coat_type, zone, visits)
    assert effective > 4000, effective
    assert doc["diagnostics"]["ess"] > 4000, doc["diagnostics"]
    for want, g in zip(posterior.summary(x, w), got["values"], strict=True):
        off = {k: (np.log(g[k] / g["default"]) - want[k]) / want["sd"] for k in ("mean", "low", "high")}
        where = (name, g["value"], off, effective)
        assert abs(off["mean"]) < 0.1, where
        assert abs(off["low"]) < 0.15 and abs(off["high"]) < 0.15, where


def test_a_wrong_model_would_be_noticed():
    """The comparison has power: with another prior the reference itself moves by more than is allowed."""
    coat_type, zone, *_ = RECORDS["little"]
    visits = record("little")
    a = posterior.summary(*posterior.sample(coat_type, zone, visits, rounds=(400, 400, 800))[:2])
    keep = posterior.PRIOR_SD.copy()
    try:
        posterior.PRIOR_SD[:] = keep * 0.8
        b = posterior.summary(*posterior.sample(coat_type, zone, visits, rounds=(400, 400, 800))[:2])
    finally:
        posterior.PRIOR_SD[:] = keep
    assert max(abs(p["low"] - q["low"]) / p["sd"] for p, q in zip(a, b)) > 0.15
