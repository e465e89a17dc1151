"""Times SciPy's linprog (HiGHS) on the linear programme of one dog's plan.

    coatwright plan DOG.toml --on DATE --programme dog.mps
    reference/.venv/bin/python reference/bench_plan.py dog.mps

Reading the file and building the arrays is not timed.
"""

from __future__ import annotations

import json
import statistics
import sys
import time

from coatref.lp import Programme


def main() -> None:
    p = Programme(sys.argv[1])
    value = p.by_linprog()
    times = []
    for _ in range(7):
        begin = time.perf_counter()
        p.by_linprog()
        times.append((time.perf_counter() - begin) * 1e3)
    print(json.dumps({"median_ms": round(statistics.median(times), 3), "n_cols": len(p.cost),
                      "n_rows": len(p.row_low), "value": value}))


if __name__ == "__main__":
    main()
