"""Time the choice of packing on made-up bridges.

Run by ``python3 go.py bench packing``. Each row is the least, the middle and the longest time of ten draws of
wanted packings; *proven* counts those proven best. Machines are shared and noisy.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests" / "unit" / "packing"))

from packing_scenes import limits, make_needs, shelf

from spanwright.packing.choose import choose
from spanwright.packing.profile import nearest_profile

SEED = 20261125
SIX = (0.13, 0.25, 0.38, 0.51, 0.76, 1.02)
TWELVE = (0.1, 0.13, 0.2, 0.25, 0.3, 0.38, 0.45, 0.51, 0.76, 1.02, 1.5, 2.0)
KEPT = limits(grade_change=0.01, twist=0.1, step=0.25)
CASES = {
    "3 spans, 6 sheets, 3 layers": (3, shelf(*SIX, glue=0.03)),
    "the same, 9 pieces of each": (3, shelf(*SIX, glue=0.03, counts=(9.0,) * 6)),
    "the same, layers saved": (3, shelf(*SIX, glue=0.03, near=0.05)),
    "10 spans, 6 sheets, 3 layers": (10, shelf(*SIX, glue=0.03)),
    "3 spans, 12 sheets, 6 layers": (3, shelf(*TWELVE, glue=0.03, layers=6)),
}


def main() -> None:
    rng = np.random.default_rng(SEED)
    choose(make_needs((0.5,) * 4, KEPT), shelf(0.5))  # the libraries are loaded
    print("| case | found | proven | least ms | middle ms | longest ms | nearest railhead ms |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for name, (spans, sheets) in CASES.items():
        times, nearest, found, proven = [], [], 0, 0
        for _ in range(10):
            needs = make_needs(rng.uniform(0.3, 2.2, 4 * spans), KEPT)
            start = time.perf_counter()
            choice = choose(needs, sheets)
            times.append(1e3 * (time.perf_counter() - start))
            start = time.perf_counter()
            nearest_profile(needs)
            nearest.append(1e3 * (time.perf_counter() - start))
            found += choice is not None
            proven += choice is not None and choice.is_proven
        low, middle, high = np.quantile(times, [0.0, 0.5, 1.0])
        row = (name, found, proven, f"{low:.0f}", f"{middle:.0f}", f"{high:.0f}", f"{np.median(nearest):.2f}")
        print("| " + " | ".join(map(str, row)) + " |", flush=True)


if __name__ == "__main__":
    main()
