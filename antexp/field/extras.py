"""Columns of a reading beside its level: SWR, feed impedance, height, source monitor, notes."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.numbers import Allowed, numbers
from antexp.field.reading_faults import FaultList, shown

POSSIBLE_SWR = Allowed(1.0, 1000.0, "a number of 1 or more")
POSSIBLE_HEIGHT = Allowed(-1000.0, 1000.0, "metres, with a decimal point")
POSSIBLE_HANDLING = Allowed(1.0, 5.0, "a whole number from 1 (a nuisance) to 5 (a pleasure)", whole=True)
POSSIBLE_SOURCE = Allowed(-300.0, 300.0, "a number of dB, with a decimal point")
_PART = r"[0-9]+(?:\.[0-9]*)?|\.[0-9]+"
_IMPEDANCE = re.compile(rf"({_PART})(?: ?([+-]) ?(?:({_PART}) ?[ij]|[ij] ?({_PART})))?")


def read_extras(rows: CellTable, faults: FaultList) -> dict[str, NDArray[Any]]:
    """Return the columns that are there, each of shape (n_rows,), and note what is wrong in them.

    Parameters
    ----------
    rows : CellTable
        The rows that read the signal.
    faults : FaultList
        Takes what is wrong.

    Returns
    -------
    dict of str to array
        ``swr``, ``height_m``, ``source_db``, ``handling`` (float, NaN where blank), ``feed_ohm`` (complex), ``time``,
        ``note``, ``word``, ``correction``, ``handling_note`` (text).
    """
    found: dict[str, NDArray[Any]] = {}
    if rows.has_values("swr"):
        found["swr"] = numbers(rows, "swr", faults, POSSIBLE_SWR)
    if rows.has_values("feed_ohm"):
        found["feed_ohm"] = impedances(rows, "feed_ohm", faults)
    if rows.has_values("height_m"):
        found["height_m"] = numbers(rows, "height_m", faults, POSSIBLE_HEIGHT)
    if rows.has_values("handling"):
        found["handling"] = numbers(rows, "handling", faults, POSSIBLE_HANDLING)
    if rows.has_values("source_db"):
        # A monitor read for some rows only would put its own level into the others' gaps.
        found["source_db"] = numbers(rows, "source_db", faults, POSSIBLE_SOURCE, blank_is_fault=True)
    for name in ("time", "note", "word", "correction", "handling_note"):
        if name in rows:
            found[name] = rows.texts(name)
    return found


def impedances(rows: CellTable, column: str, faults: FaultList) -> NDArray[np.complex128]:
    """Read a column of impedances as 62+9j, 62-j9 or 62; in ohm, NaN where blank; shape (n_rows,)."""
    coded = rows.columns[column]
    values = np.array([_impedance(value) for value in coded.values], dtype=complex)
    bad = np.flatnonzero(np.isnan(values)[coded.codes] & ~coded.is_blank())
    faults.add_rows(f"{column} is not an impedance", rows.lines[bad], column=column,
                    got=[shown(coded.values[code]) for code in coded.codes[bad[:50]]],
                    allowed="resistance above 0 and reactance in ohm: 62+9j, 62-9j, 62")
    return values[coded.codes]


def _impedance(value: object) -> complex:
    """Return a cell's impedance, NaN when it is none."""
    if isinstance(value, complex | np.complexfloating):
        number = complex(value)
        return number if np.isfinite(number) and number.real > 0 else complex(np.nan)
    match = _IMPEDANCE.fullmatch(text_of(value).replace("−", "-").strip("()").lower())
    if match is None or float(match[1]) <= 0:
        return complex(np.nan)
    reactance = float(match[3] or match[4] or 0)
    number = complex(float(match[1]), -reactance if match[2] == "-" else reactance)
    return number if np.isfinite(number) else complex(np.nan)
