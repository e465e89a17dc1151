"""Times `coatref/expected.py`: N dogs x 24 zones x 26 weeks, a visit every 21 days, all measures.

    reference/.venv/bin/python reference/bench_forecast.py [DOGS]
"""

from __future__ import annotations

import json
import os
import sys
import time

for key in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(key, "1")

from coatref import cases  # noqa: E402


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    cases.forecast_dogs(2)
    times = []
    for _ in range(3):
        begin = time.perf_counter()
        cases.forecast_dogs(n)
        times.append(time.perf_counter() - begin)
    best = sorted(times)[1]
    print(json.dumps({"dogs": n, "zones": 24, "weeks": 26, "visit_every_days": 21, "seconds": round(best, 4),
                      "dogs_per_second": round(n / best, 2), "threads": 1}))


if __name__ == "__main__":
    main()
