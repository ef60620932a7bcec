"""How often days of wires that scatter alike get the note that a verdict rests on it.

Run by hand: ``python tests/benchmarks/equal_scatter.py``. Five wires in six blocks, gaps of
0, −0.5, 0.2 and −2 dB, 1 dB matters; 120 days for each of three re-hanging scatters.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from antexp import judge, make_order, plan_from_dict, simulate

GAPS_DB = {"b": 0.0, "c": -0.5, "d": 0.2, "e": -2.0}
DAYS = 120


def main() -> None:
    """Print a line for each scatter."""
    warnings.simplefilter("ignore")
    for rehang_sd_db in (0.25, 0.35, 0.5):
        plan = plan_from_dict({"candidates": list("abcde"), "frequency_mhz": 14, "matter_db": 1.0,
                               "meter": "spectrum analyser", "field": {"blocks": 6, "rehang_sd_db": rehang_sd_db}})
        order = make_order(plan)
        told = 0
        for seed in range(DAYS):
            codes = {notice.code for notice in judge(simulate(plan, order, GAPS_DB, seed=seed), plan, order).warnings}
            told += "rests-on-equal-scatter" in codes
        print(f"re-hanging scatter {rehang_sd_db} dB: {told} of {DAYS} days")


if __name__ == "__main__":
    main()
