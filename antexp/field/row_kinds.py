"""Which rows of a readings file are used, which are left out on purpose, and which read the noise."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.levels import Levels
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, shown

_KEEP = {"": True, "1": True, "true": True, "0": False, "false": False}
_ROLES = ["", "on", "off", "candidate", "reference"]


def split_kept(cells: CellTable, faults: FaultList) -> tuple[CellTable, CellTable]:
    """Return the rows to use and the rows with keep = 0; note what is neither 0 nor 1."""
    if "keep" not in cells:
        return cells, cells.rows(np.zeros(len(cells), dtype=bool))
    texts = [text.lower() for text in cells.texts("keep")]
    bad = [row for row, text in enumerate(texts) if text not in _KEEP]
    faults.add_rows("keep is neither 0 nor 1", cells.lines[bad], column="keep", got=[shown(texts[r]) for r in bad[:50]],
                    allowed="1 or blank (use the row), 0 (leave it out)")
    keep = np.array([_KEEP.get(text, True) for text in texts], dtype=bool)
    return cells.rows(keep), cells.rows(~keep)


def held_readings(left_out: CellTable) -> CellTable:
    """Return those left-out rows that hold a level; the others tell what else happened in the field."""
    levels = ("level_db", "level_low_db", "level_high_db", "level_s")
    filled = [~left_out.columns[name].is_blank() for name in levels if name in left_out]
    return left_out.rows(np.logical_or.reduce(filled))


def is_signal(cells: CellTable, faults: FaultList) -> NDArray[np.bool_]:
    """Tell which rows read the signal; the others read the noise with the source off; shape (n_rows,)."""
    if "role" not in cells:
        return np.ones(len(cells), dtype=bool)
    texts = np.array([text.lower() for text in cells.texts("role")], dtype=object)
    bad = np.flatnonzero(~np.isin(texts.astype(str), _ROLES))
    faults.add_rows("role is not known", cells.lines[bad], column="role", got=[shown(texts[r]) for r in bad[:50]],
                    allowed='blank, "on", "candidate", "reference", or "off" (source off: the noise)')
    return texts != "off"


def noise_table(
    rows: CellTable, swap: NDArray[np.float64], levels: Levels, order: pd.DataFrame | None
) -> pd.DataFrame:
    """Return the rows read with the source off as a table.

    Parameters
    ----------
    rows : CellTable
        Those rows.
    swap : array of float, shape (n_rows,)
        Their swaps, NaN where at fault.
    levels : Levels
        Their levels.
    order : DataFrame or None
        The order's table, for the block where the readings do not say it.

    Returns
    -------
    DataFrame
        ``line, swap, block, receiver, minutes, level_db, level_low_db, level_high_db``.
    """
    block, receiver = rows.texts("block"), rows.texts("receiver")
    if order is not None:
        planned = {float(s): text_of(name) for s, name in zip(order["swap"], order["block"], strict=True)}
        block = np.array([name or planned.get(s, "") for name, s in zip(block, swap, strict=True)], dtype=object)
    minutes = numbers(rows, "minutes", FaultList(rows.name), Allowed(-np.inf, np.inf, ""))
    return pd.DataFrame({
        "line": rows.lines, "swap": swap, "block": np.where(block == "", "1", block),
        "receiver": np.where(receiver == "", "1", receiver), "minutes": minutes, "level_db": levels.level_db,
        "level_low_db": levels.low_db, "level_high_db": levels.high_db})
