"""Honesty, measured: error rates of the judgement over a grid of days and truths.

Run ``OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.honesty`` for the table; ``--write`` also remakes
docs/explanation/honesty.md, its picture and the figures behind both, measured.csv. ``--page`` remakes the page from
measured.csv without measuring; ``--records N`` measures N records a cell, ``--only WORDS`` the designs that hold them
(with ``--write`` they take the place of their former cells). A run that was cut short goes on where it stopped from
``unfinished.csv``; ``--afresh`` forgets it.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the processes below share the cores among themselves

import argparse
import time
from pathlib import Path

import pandas as pd

from tests.benchmarks.honesty.page import table_of, verdict_on, write_page
from tests.benchmarks.honesty.run import KEY, in_order, measured

MEASURED = Path(__file__).with_name("measured.csv")
UNFINISHED = Path(__file__).with_name("unfinished.csv")
"""Cells of a run that is not at its end; a new run goes on from it."""


def main() -> None:
    """Measure or read, print, and write where asked."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=10_000)
    parser.add_argument("--only", default="")
    parser.add_argument("--write", action="store_true")
    parser.add_argument("--page", action="store_true")
    parser.add_argument("--afresh", action="store_true")
    asked = parser.parse_args()
    if asked.afresh:
        UNFINISHED.unlink(missing_ok=True)
    cells = pd.read_csv(MEASURED) if asked.page else measured_with_progress(asked.records, asked.only)
    print(table_of(cells))
    print(verdict_on(cells))
    if asked.write and not asked.page:
        keep(cells)
    if asked.write or asked.page:
        write_page(pd.read_csv(MEASURED))


def measured_with_progress(records: int, only: str) -> pd.DataFrame:
    """Measure and say how far it has come."""
    started, parts = time.perf_counter(), []
    for part in measured(records, only, UNFINISHED):
        parts.append(part)
        print(f"{time.perf_counter() - started:6.0f} s  {', '.join(part['design'].unique()[:3])}", flush=True)
    cells = in_order(pd.concat(parts, ignore_index=True))
    print(f"{len(cells)} cells, {cells['records'].sum():,} records\n")
    return cells


def keep(cells: pd.DataFrame) -> None:
    """Put cells in place of their former ones; what was kept of the run is no longer needed."""
    if MEASURED.exists():
        former = pd.read_csv(MEASURED)
        new = set(cells[KEY].itertuples(index=False, name=None))
        stays = [name not in new for name in former[KEY].itertuples(index=False, name=None)]
        cells = pd.concat([former[stays], cells], ignore_index=True)
    in_order(cells).to_csv(MEASURED, index=False, float_format="%.6g", lineterminator="\n")
    UNFINISHED.unlink(missing_ok=True)


if __name__ == "__main__":
    main()
