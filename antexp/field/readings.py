"""Reading the record: a readings file, or a DataFrame, checked whole before a number of it is used."""

from __future__ import annotations

import os
from typing import Any

import numpy as np
import pandas as pd

from antexp.errors import Fault, ReadingsError
from antexp.field.cells import CellTable, frame_cells
from antexp.field.csv_table import read_csv_table
from antexp.field.header import COLUMNS
from antexp.field.reading_faults import FaultList, listed, shown
from antexp.field.record import Record
from antexp.field.record_from_cells import record_from_cells
from antexp.plan.words import SCALES


def read_readings(
    source: str | os.PathLike[str] | pd.DataFrame, plan: Any = None, order: Any = None, *,
    scale: str | None = None, step_db: float | None = None,
) -> Record:
    """Read and check a record; everything that is wrong with it is said at once.

    The reader never guesses: what is not plainly said is asked back.

    Parameters
    ----------
    source : path-like or DataFrame
        A readings file (CSV), or a table with its columns. It is never changed.
    plan : Plan, optional
        Says the meter's scale and step and the candidates' names.
    order : Order, optional
        Says what was to hang in each swap; looked up by ``swap`` where the readings do not say it.
    scale : {"dBm", "minus dBm", "dB", "attenuator", "S units"}, optional
        The meter's scale where there is no plan to say it.
    step_db : float, optional
        The meter's step, dB, where there is no plan to say it.

    Raises
    ------
    FileError
        When the file is missing, a folder, empty, not UTF-8 or far too large.
    ReadingsError
        When anything in it cannot be trusted, with all faults.
    """
    check_meter(scale, step_db)
    cells = read_cells(source)
    faults = FaultList(cells.name, cells.row_word, cells.faults)
    record = record_from_cells(cells, faults, plan=plan, order=order, scale=scale, step_db=step_db)
    if record is None:
        raise ReadingsError(faults.faults)
    return record


def check_meter(scale: str | None, step_db: float | None) -> None:
    """Refuse a scale that does not exist and a step that is none.

    Raises
    ------
    ReadingsError
        With all faults.
    """
    faults = []
    if scale is not None and scale not in SCALES:
        faults.append(Fault("the meter's scale is not known", "argument scale", shown(scale),
                            listed((shown(known) for known in SCALES), len(SCALES))))
    if step_db is not None and not 0 < step_db < np.inf:
        faults.append(Fault("the meter's step is not possible", "argument step_db", str(step_db), "above 0, in dB"))
    if faults:
        raise ReadingsError(faults)


def read_cells(source: str | os.PathLike[str] | pd.DataFrame) -> CellTable:
    """Take in a readings file or a DataFrame, unchecked but for its shape.

    Raises
    ------
    FileError
        As `read_readings`.
    ReadingsError
        When it is not a table with distinct column names and at least one row.
    """
    if isinstance(source, pd.DataFrame):
        return frame_cells(source, "readings")
    return read_csv_table(source, "readings file", COLUMNS)
