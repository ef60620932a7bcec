"""Levels: dB on the meter's scale, a range, or S units; their sign, their limits and the meter's step."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.decibels import DB_PER_S_UNIT, S9_DBM_BELOW_30_MHZ, nearest_s9_dbm, s_units_to_db
from antexp.field.cells import CellTable, text_of
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, listed, shown

POSSIBLE_LEVEL = Allowed(-300.0, 300.0, "a number of dB from -300 to 300, with a decimal point")
_S_READING = re.compile(r"[Ss]? ?([0-9])(?: ?\+ ?([0-9]{1,2})(?: ?dB)?)?")
# No receiver input survives 1 W, so "67" on a dBm scale is a lost minus sign (limit: common practice, no source).
BELIEVABLE_DBM = 30.0


@dataclass(frozen=True)
class Levels:
    """The levels of a table's rows, higher = stronger.

    Attributes
    ----------
    level_db : array of float, shape (n_rows,)
        The level; NaN for a reading that is only a range.
    low_db, high_db : array of float, shape (n_rows,)
        Where the level is known to lie: the range as given, or half a meter step to each side of ``level_db``;
        NaN for a plain level of a meter whose step nobody stated.
    step_db : float or None
        The meter's step: as stated, 6 for S units.
    form : str
        "level", "range", "level and range" or "S units".
    """

    level_db: NDArray[np.float64]
    low_db: NDArray[np.float64]
    high_db: NDArray[np.float64]
    step_db: float | None
    form: str

    def rows(self, wanted: NDArray[np.bool_]) -> Levels:
        """Return the levels of the wanted rows only; ``wanted`` has shape (n_rows,)."""
        return Levels(self.level_db[wanted], self.low_db[wanted], self.high_db[wanted], self.step_db, self.form)


def read_levels(
    cells: CellTable, faults: FaultList, *, scale: str | None, stated: bool, step_db: float | None,
    frequency_mhz: float | None, signal: NDArray[np.bool_],
) -> Levels:
    """Read the levels of every row and bring them to "higher = stronger".

    Parameters
    ----------
    cells : CellTable
        The table, with at least one of the level columns.
    faults : FaultList
        Takes what is wrong.
    scale : str or None
        The meter's scale; None when nobody stated one.
    stated : bool
        Whether the user wrote the scale down; False when a plan assumed it from the kind of meter.
    step_db : float or None
        The meter's stated step, dB.
    frequency_mhz : float or None
        For the level of S9, MHz.
    signal : array of bool, shape (n_rows,)
        Rows that read the signal (not the noise): the sign question is asked of them.
    """
    level = numbers(cells, "level_db", faults, POSSIBLE_LEVEL)
    low = numbers(cells, "level_low_db", faults, POSSIBLE_LEVEL)
    high = numbers(cells, "level_high_db", faults, POSSIBLE_LEVEL)
    s_level, s_low, s_high = _s_units(cells, faults, frequency_mhz)
    filled = {name: _filled(cells, name) for name in ("level_db", "level_low_db", "level_high_db", "level_s")}
    _check_forms(cells, filled, faults)
    _check_range(cells, low, high, faults)
    _ask_sign(cells, [level, low, high], scale, stated, signal, faults)
    if scale == "minus dBm":
        level, low, high = -level, -high, -low
    uses_s = bool(filled["level_s"].any())
    step = DB_PER_S_UNIT if uses_s else step_db
    half = np.nan if step is None else step / 2
    is_level, is_s = ~np.isnan(level), ~np.isnan(s_level)
    return Levels(
        level_db=np.where(is_s, s_level, level),
        low_db=np.where(is_s, s_low, np.where(is_level, level - half, low)),
        high_db=np.where(is_s, s_high, np.where(is_level, level + half, high)),
        step_db=step,
        form="S units" if uses_s else _form(bool(filled["level_db"].any()), bool(filled["level_low_db"].any())),
    )


def _form(plain: bool, ranges: bool) -> str:
    return "level and range" if plain and ranges else "range" if ranges else "level"


def _filled(cells: CellTable, column: str) -> NDArray[np.bool_]:
    if column not in cells:
        return np.zeros(len(cells), dtype=bool)
    return ~cells.columns[column].is_blank()


def _check_forms(cells: CellTable, filled: dict[str, NDArray[np.bool_]], faults: FaultList) -> None:
    """Note rows without a level, with half a range, or with the level given twice."""
    columns = [name for name in filled if name in cells]
    ends = filled["level_low_db"], filled["level_high_db"]
    forms = filled["level_db"].astype(int) + (ends[0] | ends[1]) + filled["level_s"]
    faults.add_rows("the level is blank", cells.lines[forms == 0], column=" or ".join(columns),
                    allowed=POSSIBLE_LEVEL.words,
                    do="Fill it in, or leave the row out with keep = 0, or delete the row.")
    faults.add_rows("the level is given twice", cells.lines[forms > 1], column=" and ".join(columns),
                    allowed="one of level_db, level_low_db with level_high_db, level_s in a row",
                    do="Leave the others blank.")
    faults.add_rows("a range has one end only", cells.lines[ends[0] != ends[1]], column="level_low_db, level_high_db",
                    do="Give both ends; for one that is not known, the lowest or highest that is possible.")
    if filled["level_s"].any() and (filled["level_db"] | ends[0]).any():
        faults.add("some levels are in S units and some in dB", do="Bring all readings of a file to one scale.")


def _check_range(cells: CellTable, low: NDArray[np.float64], high: NDArray[np.float64], faults: FaultList) -> None:
    """Note ranges whose low end lies above the high one."""
    rows = np.flatnonzero(low > high)
    faults.add_rows("the low end of a range is above its high end", cells.lines[rows],
                    column="level_low_db, level_high_db", got=[f"{low[r]:g} to {high[r]:g}" for r in rows[:5]],
                    allowed="level_low_db ≤ level_high_db (-70 is lower than -67)", do="Exchange them.")


def _ask_sign(
    cells: CellTable, levels: list[NDArray[np.float64]], scale: str | None, stated: bool,
    signal: NDArray[np.bool_], faults: FaultList,
) -> None:
    """Ask what the sign of the levels means where the scale does not say it beyond doubt."""
    given = np.concatenate([level[signal & ~np.isnan(level)] for level in levels])
    if not given.size or scale == "attenuator" or (scale == "dB" and stated):
        return
    at = "column level_db" if "level_db" in cells else "columns level_low_db and level_high_db"
    got = listed(dict.fromkeys(f"{value:g}" for value in given[:50]))
    if scale == "minus dBm":
        if (given < 0).all() or given.min() < -BELIEVABLE_DBM:
            faults.add('levels are negative though the scale is "minus dBm" (67 means -67 dBm)', at=at, got=got,
                       do=f"Does {given.min():g} mean {given.min():g} dBm? If so, put scale = \"dBm\" under [meter] in "
                       "the plan.")
        return
    if (given < 0).any() or not (given > 0).any() or (scale == "dBm" and stated and given.min() <= BELIEVABLE_DBM):
        return
    why = "and no scale is stated" if scale is None or not stated else f"though the scale is {scale}"
    example = f"{given[given > 0][0]:g}"
    s_units = " If it is an S-meter's reading, write S7 in a column level_s." if scale == "S units" else ""
    faults.add(f"every level is positive {why}", at=at, got=got,
               do=f'Does {example} mean -{example} dBm? If so, write the minus signs, or put scale = "minus dBm" '
               f'under [meter] in the plan; if more is stronger, put scale = "dB" or "attenuator" there.{s_units}')


def _s_units(
    cells: CellTable, faults: FaultList, frequency_mhz: float | None
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return level, low end and high end, dBm, of S-meter readings; NaN where there is none."""
    if "level_s" not in cells:
        nothing = np.full(len(cells), np.nan)
        return nothing, nothing, nothing
    coded = cells.columns["level_s"]
    found = [_S_READING.fullmatch(text_of(value)) for value in coded.values]
    units = np.array([float(match[1]) if match else np.nan for match in found])
    over = np.array([float(match[2] or 0) if match else np.nan for match in found])
    bad = np.isnan(units) | ((units != 9) & (over > 0)) | (over > 60)
    rows = np.flatnonzero(bad[coded.codes] & ~coded.is_blank())
    faults.add_rows("level_s is not an S-meter reading", cells.lines[rows], column="level_s",
                    got=[shown(coded.values[code]) for code in coded.codes[rows[:50]]],
                    allowed="S0 to S9, S9+1 to S9+60", do="For a reading between two marks give a range in dB.")
    units[bad], over[bad] = np.nan, np.nan
    used = np.unique(over[np.unique(coded.codes)])
    below, above = _half_marks(units, over, used[used > 0])
    s9 = S9_DBM_BELOW_30_MHZ if frequency_mhz is None else nearest_s9_dbm(frequency_mhz)
    level = s9 + s_units_to_db(units, over)
    return level[coded.codes], (level - below)[coded.codes], (level + above)[coded.codes]


def _half_marks(
    units: NDArray[np.float64], over: NDArray[np.float64], used: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return half the way, dB, to the next mark of the S-meter below and above each reading.

    Up to S9 a mark is 6 dB; above it the marks are 10 dB apart, or as much finer as the record itself shows.
    """
    mark = float(np.gcd.reduce([10, *used.astype(int)])) if used.size else 10.0
    below = np.where(over > 0, mark / 2, DB_PER_S_UNIT / 2)
    above = np.where(units == 9, mark / 2, DB_PER_S_UNIT / 2)
    return below, above
