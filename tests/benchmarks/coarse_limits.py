"""How often limits from a coarse meter miss a true gap, taken as ranges and as plain numbers.

Run ``python tests/benchmarks/coarse_limits.py [SECONDS]``, so many seconds for each of four lines.

The day of `examples/coarse-meter` (3 wires, 7 blocks of 4 swaps, a line in each, step 1 dB, hangings 0.3 dB, readings
0.15 dB) is drawn again and again and judged; printed is the share of records in which at least one of its two limits
misses, where the plan allows 5 %, with its Monte Carlo error, and the median resolution.
"""

from __future__ import annotations

import sys
import time
import tomllib
from pathlib import Path

import numpy as np

from antexp import judge, make_order, simulate
from antexp.plan.reader import plan_from_dict

EXAMPLE = Path(__file__).parents[2] / "examples" / "coarse-meter" / "plan.toml"
GAPS_DB = {"tinned copper 1.0 mm": -0.1, "stainless strand 0.4 mm": -4.6}
FIRST_SEED = 5000


def plan_of(drift: str, step_known: bool):
    """Return the example's plan with a form of drift, with or without the meter's step."""
    document = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))
    document["field"]["drift"] = drift
    if not step_known:
        del document["meter"]["step_db"]
    return plan_from_dict(document)


def run(drift: str, as_ranges: bool, seconds: float) -> tuple[int, int, float]:
    """Judge records for some seconds; return how many, how many missed, and the median resolution, dB."""
    drawn, judged = plan_of(drift, True), plan_of(drift, as_ranges)
    order = make_order(drawn)
    slope = {} if drift == "steady" else {"drift_db_per_hour": 0.0}
    records = missed = 0
    widths: list[float] = []
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        readings = simulate(drawn, order, GAPS_DB, seed=FIRST_SEED + records, base_db=41.3, specimen_sd_db=0.0, **slope)
        family = judge(readings, judged, order).family
        inside = [low <= GAPS_DB[name] <= high
                  for name, (low, high) in zip(family["candidate"], family["interval_db"], strict=True)]
        records, missed = records + 1, missed + (not all(inside))
        widths.append(float(family["resolution_db"].max()))
    return records, missed, float(np.median(widths))


if __name__ == "__main__":
    allowed = float(sys.argv[1]) if len(sys.argv) > 1 else 100.0
    for drift in ("steady", "none"):
        for as_ranges in (True, False):
            records, missed, width = run(drift, as_ranges, allowed)
            share = missed / records
            error = (share * (1 - share) / records) ** 0.5
            print(f"drift {drift}, {'ranges' if as_ranges else 'numbers'}: {records} records, {100 * share:.1f} % miss "
                  f"(± {100 * error:.1f}), median resolution {width:.2f} dB", flush=True)
