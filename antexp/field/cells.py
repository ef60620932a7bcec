"""A table of cells as they were given: every column coded as its distinct values and a number a row.

Coding keeps a million rows small, and lets every distinct value be read, stripped and checked once.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.errors import Fault, ReadingsError
from antexp.spreadsheet import plain_cell


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    codes : array of int32, shape (n_rows,)
        For each row the position of its cell in ``values``.
    values : sequence of object
        The distinct cells as given: text from a file, any scalar from a DataFrame; a missing cell is "".
    """

    codes: NDArray[np.int32]
    values: Sequence[object]

    def texts(self) -> NDArray[np.object_]:
        """Return each row's cell as text without surrounding spaces and formula marks, shape (n_rows,)."""
        texts = np.empty(len(self.values), dtype=object)
        texts[:] = [plain_cell(text_of(value)) for value in self.values]
        return texts[self.codes]

    def given(self) -> NDArray[np.object_]:
        """Return each row's cell untouched, shape (n_rows,)."""
        values = np.empty(len(self.values), dtype=object)
        values[:] = list(self.values)
        return values[self.codes]

    def is_blank(self) -> NDArray[np.bool_]:
        """Tell for each row whether its cell is empty or only spaces, shape (n_rows,)."""
        return np.array([is_blank(value) for value in self.values], dtype=bool)[self.codes]


@dataclass(frozen=True)
class CellTable:
    """A table as it was given, before anything in it is believed.

    Attributes
    ----------
    name : str
        What messages call it: the path, or "the readings table".
    row_word : str
        What messages call a row: "line" or "row".
    path : str or None
        The file; None for a DataFrame.
    sha256 : str
        Of the file's bytes; for a DataFrame of its content written as CSV.
    lines : array of int64, shape (n_rows,)
        Line of the file where each row begins; for a DataFrame its row counted from 1.
    columns : mapping of str to Column
        In the order of the file.
    faults : tuple of Fault
        Rows that could not be taken in; they are missing from the columns.
    """

    name: str
    row_word: str
    path: str | None
    sha256: str
    lines: NDArray[np.int64]
    columns: Mapping[str, Column]
    faults: tuple[Fault, ...] = field(default=())

    def __len__(self) -> int:
        return len(self.lines)

    def __contains__(self, column: str) -> bool:
        return column in self.columns

    def has_values(self, column: str) -> bool:
        """Tell whether the column is there and at least one of its cells is filled."""
        return column in self.columns and not bool(self.columns[column].is_blank().all())

    def texts(self, column: str) -> NDArray[np.object_]:
        """Return a column's cells as stripped text; all blank when the column is not there."""
        if column in self.columns:
            return self.columns[column].texts()
        return np.full(len(self), "", dtype=object)

    def rows(self, wanted: NDArray[np.bool_]) -> CellTable:
        """Return the table with the wanted rows only; ``wanted`` has shape (n_rows,)."""
        columns = {name: Column(column.codes[wanted], column.values) for name, column in self.columns.items()}
        return CellTable(self.name, self.row_word, self.path, self.sha256, self.lines[wanted], columns, self.faults)

    def to_frame(self) -> pd.DataFrame:
        """Return the cells untouched as a DataFrame with the lines in front."""
        given: dict[str, object] = {name: column.given() for name, column in self.columns.items() if name != "line"}
        return pd.DataFrame({"line": self.lines, **given})


def text_of(value: object) -> str:
    """Return a cell as text without surrounding spaces; a missing one is "", a whole float has no ".0"."""
    if isinstance(value, str):
        return value.strip()
    if isinstance(value, float | np.floating):
        return "" if np.isnan(value) else repr(int(value)) if float(value).is_integer() else repr(float(value))
    return "" if value is None or value is pd.NA or value is pd.NaT else str(value).strip()


def is_blank(value: object) -> bool:
    """Tell whether a cell is missing, empty or only spaces."""
    if isinstance(value, str):
        return not value or value.isspace()
    return text_of(value) == "" if not isinstance(value, float) else value != value


def frame_cells(frame: pd.DataFrame, what: str) -> CellTable:
    """Take in a DataFrame.

    Parameters
    ----------
    frame : DataFrame
        One row a reading; it is not changed.
    what : str
        What it is to the user: "readings".

    Raises
    ------
    ReadingsError
        When it has no rows, or two columns of one name.
    """
    name = f"the {what} table"
    names = [str(column).strip() for column in frame.columns]
    faults = []
    if len(set(names)) < len(names):
        doubles = [double for double, times in Counter(names).items() if times > 1]
        faults.append(Fault("a column stands twice", name, ", ".join(f'"{double}"' for double in doubles[:5]),
                            do="Rename or drop one of them."))
    if not len(frame):
        faults.append(Fault("there are no rows", name))
    if faults:
        raise ReadingsError(faults)
    columns = {label: _coded(frame.iloc[:, position]) for position, label in enumerate(names)}
    content = frame.to_csv(index=False).encode("utf-8", "surrogatepass")
    return CellTable(name, "row", None, hashlib.sha256(content).hexdigest(), np.arange(1, len(frame) + 1), columns)


def _coded(series: pd.Series) -> Column:
    """Return a Series as a coded column; cells that cannot be compared are taken as their text."""
    cells = series.to_numpy() if series.dtype.kind in "fiu" else series.astype(object).to_numpy()
    try:
        codes, values = pd.factorize(cells)
    except TypeError:
        codes, values = pd.factorize(np.array([str(cell) for cell in cells], dtype=object))
    filled: NDArray[np.int32] = np.where(codes < 0, len(values), codes).astype(np.int32)
    return Column(filled, [*values.tolist(), ""])
