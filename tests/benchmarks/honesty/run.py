"""Every cell of the grid, in two processes."""

from __future__ import annotations

import multiprocessing
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict

import pandas as pd

from tests.benchmarks.honesty.grid import TRUTHS, Design, designs
from tests.benchmarks.honesty.measure import measure

SEED = 2024


def measured(records: int, only: str) -> pd.DataFrame:
    """Measure every cell in two processes.

    Parameters
    ----------
    records : int
        A cell.
    only : str
        Words that the design's name holds; empty: all.
    """
    chosen = [(place, design, truth) for place, design in enumerate(designs()) if only in design.name
              for truth in TRUTHS]
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        jobs = [executor.submit(one_cell, place, design, truth, records) for place, design, truth in chosen]
        return pd.DataFrame([job.result() for job in jobs])


def one_cell(place: int, design: Design, truth: str, records: int) -> dict:
    """Measure one cell and say which it is; its seed depends on its place in the whole grid alone."""
    question = design.plan.question
    cell = measure(design, truth, records, (SEED, place, TRUTHS.index(truth)))
    return {"design": design.name, "scatter": design.scatter, "truth": truth, "compare": question.compare,
            "swaps": len(design.table), "matter_db": question.matter_db, **asdict(cell)}
