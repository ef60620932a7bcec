"""Times: the minutes of every reading within its block, from the best source the record has."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, shown
from antexp.notices import Notice

# A block is done in one go; a month covers any "block" of a patient station and keeps typing errors out.
LONGEST_BLOCK_MINUTES = 31 * 24 * 60.0
POSSIBLE_MINUTES = Allowed(0.0, LONGEST_BLOCK_MINUTES, "minutes since the block began, 0 or more, with a decimal point")
# Clock times without a date that span more than this have most likely passed midnight.
LONGEST_WITHOUT_DATE_MINUTES = 12 * 60.0
_CLOCK = re.compile(r"T?[0-9]{2}:[0-9]{2}.*")
_STAMP = re.compile(r"[0-9]{4}.*[T ][0-9]{2}.*")
_TIMES_ALLOWED = "ISO 8601: 2026-05-01T10:32:05, or the clock time 10:32 or 10:32:05"


@dataclass(frozen=True)
class Times:
    """When the readings were taken.

    Attributes
    ----------
    minutes : array of float, shape (n_rows,), minutes
        Within the block.
    source : str
        "minutes", "time", "order" or "swap number".
    notices : tuple of Notice
        A warning when the times are not times.
    """

    minutes: NDArray[np.float64]
    source: str
    notices: tuple[Notice, ...] = ()


def read_times(
    cells: CellTable, faults: FaultList, *, swap: NDArray[np.float64], block: NDArray[np.object_],
    planned: NDArray[np.float64] | None, minutes_per_swap: float | None,
) -> Times:
    """Find the minutes of every reading within its block.

    Parameters
    ----------
    cells : CellTable
        The table.
    faults : FaultList
        Takes what is wrong.
    swap : array of float, shape (n_rows,)
        Swap numbers, NaN where at fault.
    block : array of str, shape (n_rows,)
        Block labels.
    planned : array of float, shape (n_rows,), minutes, optional
        The order file's start of each row's swap.
    minutes_per_swap : float, optional
        As planned; spaces the swaps when there are no times at all.
    """
    if cells.has_values("minutes"):
        return Times(numbers(cells, "minutes", faults, POSSIBLE_MINUTES, blank_is_fault=True), "minutes")
    if cells.has_values("time"):
        return Times(_from_stamps(cells, block, faults), "time")
    if planned is not None:
        return Times(planned, "order")
    first = pd.Series(swap).groupby(pd.Series(block)).transform("min").to_numpy()
    spacing = 1.0 if minutes_per_swap is None else minutes_per_swap
    text = (f"The readings have no times: the swaps are taken as {spacing:g} min apart by their numbers"
            + ("" if minutes_per_swap else ", so that drift per hour means drift per 60 swaps") + ".")
    return Times((swap - first) * spacing, "swap number", (Notice("times-from-swap-numbers", text),))


def _from_stamps(cells: CellTable, block: NDArray[np.object_], faults: FaultList) -> NDArray[np.float64]:
    """Return the minutes since each block's first reading; NaN where a time is blank or at fault."""
    coded = cells.columns["time"]
    found = [_stamp(value) for value in coded.values]
    seconds = np.array([second for second, _ in found])
    kinds = np.array([kind for _, kind in found], dtype=object)
    row_kinds = kinds[coded.codes]
    faults.add_rows("time is blank", cells.lines[row_kinds == "blank"], column="time", allowed=_TIMES_ALLOWED,
                    do="Fill it in as well as is known: drift is fitted at each reading's own time.")
    bad = np.flatnonzero(row_kinds == "bad")
    faults.add_rows("time is not a time", cells.lines[bad], column="time",
                    got=[shown(coded.values[code]) for code in coded.codes[bad[:50]]], allowed=_TIMES_ALLOWED)
    if len(set(row_kinds) - {"blank", "bad"}) > 1:
        first = [shown(coded.values[coded.codes[np.argmax(row_kinds == kind)]])
                 for kind in sorted(set(row_kinds) - {"blank", "bad"})]
        faults.add("times are written in different ways", at="column time", got=" and ".join(first),
                   allowed="all with a date or none, all with a time zone or none", do="Write them all in one way.")
        return np.full(len(cells), np.nan)
    rows = seconds[coded.codes]
    minutes = (rows - pd.Series(rows).groupby(pd.Series(block)).transform("min").to_numpy()) / 60.0
    limit = LONGEST_WITHOUT_DATE_MINUTES if (row_kinds == "clock").any() else LONGEST_BLOCK_MINUTES
    long = np.flatnonzero(minutes > limit)
    faults.add_rows("time is too long after its block's first reading", cells.lines[long], column="time",
                    got=[shown(coded.values[code]) for code in coded.codes[long[:50]]],
                    allowed=f"up to {limit / 60:g} hours",
                    do="Correct it. Clock times that pass midnight need the date (2026-05-01T23:58); what was not done "
                    "in one go needs blocks of its own.")
    return minutes


def _stamp(value: object) -> tuple[float, str]:
    """Return a cell's time in seconds from an arbitrary zero, and its kind.

    The kinds are "date", "date and zone", "clock", "blank" and "bad"; the last two have NaN seconds.
    """
    text = text_of(value)
    if not text:
        return np.nan, "blank"
    try:
        if _CLOCK.fullmatch(text):
            clock = dt.time.fromisoformat(text)
            kind = "clock" if clock.tzinfo is None else "bad"
            return clock.hour * 3600 + clock.minute * 60 + clock.second + clock.microsecond / 1e6, kind
        if _STAMP.fullmatch(text):
            stamp = dt.datetime.fromisoformat(text)
            if stamp.tzinfo is None:
                return (stamp - dt.datetime(2000, 1, 1)).total_seconds(), "date"
            return (stamp - dt.datetime(2000, 1, 1, tzinfo=dt.UTC)).total_seconds(), "date and zone"
    except (ValueError, OverflowError):
        pass
    return np.nan, "bad"
