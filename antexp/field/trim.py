"""From measured resonance to the cut: the `trim` document, one row a specimen, and a list for the bench."""

from __future__ import annotations

import os

import numpy as np
import pandas as pd

from antexp.errors import Fault, ReadingsError
from antexp.field.bench_book import BenchBook, read_bench_book
from antexp.field.trim_advice import FAR_OFF, bench_list, trim_notices
from antexp.field.trimmed import Trim, TrimSheet
from antexp.plan.candidate import Candidate
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.radio.element import DIPOLE_IN_SPACE, INSULATION_SHORTENING, MONOPOLE_RADIATION
from antexp.radio.trim import (
    detuned_reactance_ohm,
    khz_per_cm,
    mistuning_cost_db,
    new_leg_m,
    starting_leg_m,
    trim_line,
)

LONGEST_STEP = 3.0
"""A line that asks for a leg so many times longer or shorter was drawn through noise (judgement, no source)."""

SAME_HEIGHT_M = 0.5
"""Measurements within this height of the last one belong to one line (judgement, no source)."""


def trim_sheet(plan: str | os.PathLike[str] | Plan,
               bench: str | os.PathLike[str] | BenchBook | None = None) -> TrimSheet:
    """Work out the trim of every specimen of a plan.

    Parameters
    ----------
    plan : path or Plan
        Its frequency is the target.
    bench : path or BenchBook, optional
        Left out, or for specimens it does not have: the length to begin with.

    Returns
    -------
    TrimSheet

    Raises
    ------
    FileError, PlanError
        When a file cannot be read, or the plan is at fault.
    ReadingsError
        When the plan has no frequency, or measurements of a specimen contradict each other.
    """
    plan = as_plan(plan)
    book = read_bench_book(bench, plan) if isinstance(bench, str | os.PathLike) else bench
    target = plan.radio.frequency_mhz
    if target is None:
        raise ReadingsError(Fault("the plan has no frequency to trim to", str(plan.path or "plan"), do="Add "
                                  "frequency_mhz in [radio]."))
    trims, faults = [], []
    for candidate in plan.candidates:
        for specimen in candidate.specimen_labels:
            rows = _rows_of(book, candidate.name, specimen)
            try:
                trims.append(_trim(plan, candidate, specimen, rows, target) if len(rows)
                             else _begin(candidate, specimen, target))
            except ValueError as error:
                faults.append(Fault(f'{candidate.name}, specimen {specimen}: {error}', str(book and book.path),
                                    do=f"Look at lines {', '.join(map(str, rows['line']))}."))
    if faults:
        raise ReadingsError(faults)
    return TrimSheet(tuple(trims), tuple(bench_list(trims, plan)), tuple(trim_notices(trims, plan)))


def _rows_of(book: BenchBook | None, name: str, specimen: str) -> pd.DataFrame:
    """Return the measurements of resonance of one specimen, in time order."""
    if book is None:
        return pd.DataFrame()
    table = book.table
    return table[(table["candidate"] == name) & (table["specimen"] == specimen) & table["resonance_mhz"].notna()]


def _begin(candidate: Candidate, specimen: str, target_mhz: float) -> Trim:
    """Return the length to begin with, a covered wire shorter by the common amount."""
    leg = float(starting_leg_m(target_mhz))
    if candidate.insulation_mm is not None:
        leg *= 1.0 - INSULATION_SHORTENING.value
    return Trim(candidate.name, specimen, None, None, target_mhz, leg, None, None, None)


def _trim(plan: Plan, candidate: Candidate, specimen: str, rows: pd.DataFrame, target_mhz: float) -> Trim:
    """Return the trim from one measurement, or from the line through several at one height."""
    last = rows.iloc[-1]
    leg, resonance = float(last["leg_m"]), float(last["resonance_mhz"])
    together = rows[_same_height(rows["height_m"].to_numpy(float), float(last["height_m"]))]
    # of several measurements of one length the last one counts: the end may have been moved in between
    points = together.groupby("leg_m", sort=False).tail(1)
    if len(points) > 1:
        new_leg, sensitivity = trim_line(points["leg_m"], points["resonance_mhz"], target_mhz)
        if not leg / LONGEST_STEP < new_leg < leg * LONGEST_STEP:
            raise ValueError(f"the line through its {len(points)} lengths leads to {new_leg:.2f} m; measure again with "
                             "lengths further apart")
    else:
        new_leg, sensitivity = float(new_leg_m(leg, resonance, target_mhz)), float(khz_per_cm(leg, resonance))
    height = float(last["height_m"])
    return Trim(candidate.name, specimen, leg, resonance, target_mhz, new_leg, leg - new_leg, sensitivity,
                _cost(plan, candidate, leg, resonance, target_mhz, complex(last["feed_ohm"])), len(points),
                None if np.isnan(height) else height, str(last["where"]))


def _same_height(height_m: np.ndarray, last_m: float) -> np.ndarray:
    """Tell which measurements were taken as high as the last one; unknown heights belong together."""
    if np.isnan(last_m):
        return np.isnan(height_m)
    return np.abs(height_m - last_m) <= SAME_HEIGHT_M


def _cost(plan: Plan, candidate: Candidate, leg_m: float, resonance_mhz: float, target_mhz: float,
          feed_ohm: complex) -> float | None:
    """Return what being off costs; None without a diameter, or so far off that the first order says nothing.

    A measured resistance is preferred to the textbook's.
    """
    if candidate.diameter_mm is None or abs(resonance_mhz / target_mhz - 1.0) > FAR_OFF:
        return None
    vertical = plan.radio.element == "quarter-wave vertical"
    resistance = MONOPOLE_RADIATION.value + plan.radio.ground_loss_ohm if vertical else DIPOLE_IN_SPACE.value
    if not np.isnan(feed_ohm):
        resistance = feed_ohm.real
    reactance = detuned_reactance_ohm(resonance_mhz, target_mhz, leg_m, candidate.diameter_mm, monopole=vertical)
    return float(mistuning_cost_db(reactance, resistance, plan.radio.source_impedance_ohm))
