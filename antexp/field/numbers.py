"""Numbers in cells: read when they are plainly numbers, refused with the reason when they are not."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.reading_faults import FaultList, shown

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
_DECIMAL_COMMA = re.compile(r"[+-]?[0-9]*,[0-9]+")
_ENDLESS = {"inf", "infinity", "+inf", "-inf", "-infinity", "+infinity", "nan"}
GOOD, BLANK, COMMA, ENDLESS, TEXT, OUTSIDE = range(6)


@dataclass(frozen=True)
class Allowed:
    """What a number may be.

    Attributes
    ----------
    low, high : float
        The ends, both allowed.
    words : str
        The same in words for the message: "a number of dB from -300 to 300".
    whole : bool
        Whether only whole numbers are allowed.
    """

    low: float
    high: float
    words: str
    whole: bool = False


def number_of(value: object) -> tuple[float, int]:
    """Return a cell's number and how it was found: (NaN, the reason) when it is none.

    A number is written with ASCII digits and a decimal point; the typographic minus sign is a minus sign.
    """
    if isinstance(value, int | float | np.integer | np.floating) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:  # a Python integer beyond the largest float
            return math.nan, ENDLESS
        return (number, GOOD) if math.isfinite(number) else (math.nan, BLANK if math.isnan(number) else ENDLESS)
    text = text_of(value).replace("−", "-")
    if not text:
        return math.nan, BLANK
    if _NUMBER.fullmatch(text):
        number = float(text)
        return (number, GOOD) if math.isfinite(number) else (math.nan, ENDLESS)
    if _DECIMAL_COMMA.fullmatch(text):
        return math.nan, COMMA
    return math.nan, ENDLESS if text.lower() in _ENDLESS else TEXT


def numbers(
    cells: CellTable, column: str, faults: FaultList, allowed: Allowed, *, blank_is_fault: bool = False,
    where: NDArray[np.bool_] | None = None,
) -> NDArray[np.float64]:
    """Read a column of numbers.

    Parameters
    ----------
    cells : CellTable
        The table; a column that is not there reads as blank everywhere.
    column : str
        The column's name.
    faults : FaultList
        Takes what is wrong.
    allowed : Allowed
        What the numbers may be.
    blank_is_fault : bool
        Whether every row must have one.
    where : array of bool, shape (n_rows,), optional
        The rows that count; the others give NaN and no fault.

    Returns
    -------
    array of float, shape (n_rows,)
        NaN where the cell is blank or at fault.
    """
    if column not in cells:
        return np.full(len(cells), np.nan)
    coded = cells.columns[column]
    found = [number_of(value) for value in coded.values]
    values = np.array([number for number, _ in found], dtype=float)
    kinds = np.array([kind for _, kind in found], dtype=np.int8)
    outside = (values < allowed.low) | (values > allowed.high)
    if allowed.whole:
        outside |= (kinds == GOOD) & (values != np.floor(values))
    kinds[outside] = OUTSIDE
    values[outside] = np.nan
    row_kinds = kinds[coded.codes]
    if where is not None:
        row_kinds = np.where(where, row_kinds, GOOD).astype(np.int8)
    _note_bad(cells, column, row_kinds, faults, allowed, blank_is_fault)
    taken = values[coded.codes]
    return taken if where is None else np.where(where, taken, np.nan)


def _note_bad(
    cells: CellTable, column: str, kinds: NDArray[np.int8], faults: FaultList, allowed: Allowed, blank_is_fault: bool
) -> None:
    """Note each sort of bad cell of a column as a fault of its own."""
    if not (kinds != GOOD).any():
        return
    texts = {
        COMMA: ("has a decimal comma", "Write a decimal point: -45.3, not -45,3."),
        ENDLESS: ("is not a finite number", "Leave the row out with keep = 0, or delete it, if there was no reading."),
        TEXT: ("is not a number", "Is there a letter in place of a digit, or a unit in the cell?"),
        OUTSIDE: ("is not possible", "Correct it."),
    }
    if blank_is_fault:
        texts[BLANK] = ("is blank", "Fill it in, or delete the row, or leave it out with keep = 0.")
    coded = cells.columns[column]
    for kind, (problem, do) in texts.items():
        rows = np.flatnonzero(kinds == kind)
        got = () if kind == BLANK else [shown(coded.values[code]) for code in coded.codes[rows[:50]]]
        faults.add_rows(f"{column} {problem}", cells.lines[rows], column=column, got=got, allowed=allowed.words, do=do)
