"""Every design of the grid, in two processes; what is measured is kept, so that a run that was cut short goes on."""

from __future__ import annotations

import multiprocessing
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from dataclasses import asdict
from pathlib import Path

import numpy as np
import pandas as pd

from tests.benchmarks.honesty.grid import Design, designs, order_of_cells
from tests.benchmarks.honesty.measure import measure

SEED = 2024
KEY = ["design", "scatter", "truth"]


def measured(records: int, only: str, kept: Path) -> Iterator[pd.DataFrame]:
    """Measure designs in two processes, and give their cells as they come, those kept from an earlier run first.

    Parameters
    ----------
    records : int
        A cell.
    only : str
        Words that the design's name holds; empty: all.
    kept : path
        Where each design's cells are added when they are measured.
    """
    chosen = list(designs(only))
    before = cells_of(kept, chosen, records)
    done = set(before[KEY[:2]].itertuples(index=False, name=None)) if len(before) else set()
    if len(before):
        yield before
    missing = [(place, design) for place, design in chosen if (design.name, design.scatter) not in done]
    # the slow ones first, so that no process idles at the end
    missing.sort(key=lambda job: job[1].lost == "nothing")
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        jobs = [executor.submit(one_design, place, design, records) for place, design in missing]
        for job in as_completed(jobs):
            cells = job.result()
            cells.to_csv(kept, mode="a", index=False, header=not kept.exists(), lineterminator="\n")
            yield cells


def cells_of(kept: Path, chosen: list[tuple[int, Design]], records: int) -> pd.DataFrame:
    """Read what an earlier run kept of these designs with so many records."""
    if not kept.exists():
        return pd.DataFrame()
    cells = pd.read_csv(kept)
    wanted = {(design.name, design.scatter) for _, design in chosen}
    own = np.array([name in wanted for name in cells[KEY[:2]].itertuples(index=False, name=None)])
    return cells[own & (cells["asked"] == records)]


def one_design(place: int, design: Design, records: int) -> pd.DataFrame:
    """Measure the cells of one design; its seed depends on its place in the whole grid alone."""
    started = time.perf_counter()
    found = measure(design, design.truths, records, (SEED, place))
    seconds = time.perf_counter() - started
    question = design.plan.question
    which = {"design": design.name, "scatter": design.scatter, "compare": question.compare, "lost": design.lost,
             "swaps": len(design.table), "matter_db": question.matter_db, "asked": records,
             "seconds": round(seconds / len(found), 1)}
    return pd.DataFrame([{**which, "truth": truth, **asdict(cell)} for truth, cell in found.items()])


def in_order(cells: pd.DataFrame) -> pd.DataFrame:
    """Return cells in the order of the grid."""
    places = order_of_cells()
    order = sorted(range(len(cells)), key=lambda row: places[tuple(cells[KEY].iloc[row])])
    return cells.iloc[order].reset_index(drop=True)
