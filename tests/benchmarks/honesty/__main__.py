"""Honesty, measured: error rates of the judgement over a grid of days and truths.

Run ``OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.honesty`` for the table; ``--write`` also remakes
docs/explanation/honesty.md, its picture and the figures behind both, measured.csv. ``--page`` remakes the page from
measured.csv without measuring; ``--records N`` measures N records a cell, ``--only WORDS`` the designs that hold them.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the processes below share the cores among themselves

import argparse
import time
from pathlib import Path

import pandas as pd

from tests.benchmarks.honesty.page import table_of, verdict_on, write_page
from tests.benchmarks.honesty.run import measured

MEASURED = Path(__file__).with_name("measured.csv")


def main() -> None:
    """Measure or read, print, and write where asked."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=10_000)
    parser.add_argument("--only", default="")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--page", action="store_true")
    asked = parser.parse_args()
    if asked.page:
        cells = pd.read_csv(MEASURED)
    else:
        started = time.perf_counter()
        cells = measured(asked.records, asked.only)
        print(f"{len(cells)} cells, {cells['records'].sum():,} records: {time.perf_counter() - started:.0f} s\n")
    print(table_of(cells))
    print(verdict_on(cells))
    if asked.write and not asked.page:
        cells.to_csv(MEASURED, index=False, float_format="%.6g", lineterminator="\n")
    if asked.write or asked.page:
        write_page(pd.read_csv(MEASURED))


if __name__ == "__main__":
    main()
