"""Writes fixtures/*.json: seven coats by both references."""

from __future__ import annotations

import json
import math
import pathlib
import zlib

from coatref import exact, follicles

HERE = pathlib.Path(__file__).parent
WIRE = {"lag": [28, 4], "grow": [72, 14], "set": [14, 4], "hold": 250, "growth_mm_d": 0.33, "start_hard": 0.6}
LONG = {**WIRE, "grow": [185, 30]}
EARS = {**WIRE, "lag": [18, 18 * 4 / 28], "grow": [35, 35 * 14 / 72], "set": [10, 10 * 4 / 14], "growth_mm_d": 0.25}


def fifths(first: int, count: int, every: int = 21, share: float = 0.2) -> list[dict]:
    return [{"day": first + every * i, "kind": "take_share_of_visible", "share": share} for i in range(count)]


ALONE = [{"day": 0, "kind": "left_alone"}]
CASES = {
    "rolling": (WIRE, ALONE + fifths(14, 9), [30, 45, 100, 200, 240]),
    "hard_from_zero": ({**WIRE, "start_hard": 0.0}, ALONE + fifths(14, 9), [200]),
    "flat": (WIRE, [{"day": 0, "kind": "flat"}] + fifths(126, 6), [7, 21, 28, 35, 56, 84, 98, 112, 120, 240, 300]),
    "clip": (WIRE, [{"day": 0, "kind": "clip", "length_mm": 9.0}] + fifths(28, 7), [14, 60, 100, 160, 220]),
    "clip_long": (WIRE, [{"day": 0, "kind": "clip", "length_mm": 25.0}] + fifths(30, 6), [10, 60, 100, 170]),
    "long_wire": (LONG, ALONE + fifths(10, 10), [50, 120, 260, 330]),
    "ears_all_ripe": (EARS, ALONE + [{"day": 14 + 21 * i, "kind": "take_all_ripe"} for i in range(8)], [20, 70, 170, 200]),
}
FOLLICLES, GROUPS = 60_000, 16


def main() -> None:
    for name, (zone, events, days) in CASES.items():
        z = {**zone, "rhythm_days": 21}
        mc_zone = follicles.Zone(**{k: tuple(v) if isinstance(v, list) else v for k, v in z.items()})
        mc = follicles.run(mc_zone, events, days, FOLLICLES, GROUPS, seed=zlib.crc32(name.encode()))
        ex = exact.run(z, events, days)
        rows = []
        for m, e in zip(mc, ex, strict=True):
            assert (m["day"], m["at"]) == (e["day"], e["at"])
            one = {"day": m["day"], "at": m["at"], "follicles": {}, "expected": {}}
            for key in ("cover", "ripe", "top_mm", "hard", "evenness"):
                value, se = m[key]
                one["follicles"][key] = None if math.isnan(value) else [round(value, 6), round(se, 6)]
                one["expected"][key] = None if e[key] is None else round(e[key], 10)
            one["expected"]["layers"] = e["layers"]
            rows.append(one)
        doc = {"schema": "coatwright-reference.coat/1", "name": name, "zone": z,
               "follicles_n": FOLLICLES * GROUPS, "events": events, "rows": rows}
        head = {k: v for k, v in doc.items() if k != "rows"}
        text = json.dumps(head, indent=1)[:-2] + ',\n "rows": [\n  ' + ",\n  ".join(json.dumps(r) for r in rows) + "\n ]\n}\n"
        (HERE / "fixtures").mkdir(exist_ok=True)
        (HERE / "fixtures" / f"{name}.json").write_text(text)
        print(f"{name}: {len(rows)} rows")


if __name__ == "__main__":
    main()
