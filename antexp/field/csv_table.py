"""Reading a comma-separated file into cells, with the line of every row and no guess about any of them."""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Iterable, Iterator
from itertools import islice, pairwise

import numpy as np

from antexp.field.cells import CellTable, Column
from antexp.field.reading_faults import FaultList, listed, shown
from antexp.files import decode_text, read_raw

# Far beyond any day in the field; a file above them is something else, and would fill the memory.
MAX_BYTES = 512 * 2**20
MAX_COLUMNS = 1000
MAX_LINE_CHARACTERS = 1_000_000
ROWS_AT_ONCE = 8192
WRONG_SEPARATORS = {";": "semicolon", "\t": "tab", "|": "vertical bar"}


class _Codes(dict[str, int]):
    """Gives every new cell the next number."""

    def __missing__(self, cell: str) -> int:
        self[cell] = code = len(self)
        return code


def read_csv_table(path: str | os.PathLike[str], what: str, known: Iterable[str]) -> CellTable:
    """Read a CSV file with a header into cells.

    A byte-order mark, any line ends, blank rows and quoted cells are fine. Nothing else is mended: a row that is
    not as long as the header is a fault in the result, for the caller to raise with what else it finds.

    Parameters
    ----------
    path : path-like
        The file; it is only read.
    what : str
        What it is to the user: "readings file", "bench book".
    known : iterable of str
        The columns such a file may have; they tell a header from data and a wrong separator from a long name.

    Returns
    -------
    CellTable

    Raises
    ------
    FileError
        When the file is missing, a folder, unreadable, too large, empty or not UTF-8.
    ReadingsError
        When it is not comma-separated text with a header of distinct names and at least one row.
    """
    raw = read_raw(path, what, MAX_BYTES)
    text = decode_text(raw, path, what)
    digest = hashlib.sha256(raw).hexdigest()
    del raw
    faults = FaultList(str(path))
    _refuse_nul(text, what, faults)
    records = _Records(text, faults)
    header_line, header = next(records.filled(), (0, []))
    names = [cell.strip() for cell in header]
    _check_separator(text, names, set(known), faults)
    _check_names(names, header_line, faults)
    lines, columns = _take_rows(records, names, faults)
    if not len(lines) and not faults.faults:
        faults.add(f"there are no rows below the header: the {what} is empty", at=f"line {header_line}")
        faults.raise_if_any()
    if not len(lines):
        faults.raise_if_any()
    return CellTable(str(path), "line", str(path), digest, lines, columns, tuple(faults.faults))


def _refuse_nul(text: str, what: str, faults: FaultList) -> None:
    """Raise when the text holds NUL characters (a damaged file, or UTF-16)."""
    if "\0" not in text:
        return
    lines = [number for number, line in enumerate(text.split("\n"), 1) if "\0" in line]
    faults.add_rows(f"the {what} holds NUL bytes", lines,
                    do="It is damaged or not UTF-8: save it again as CSV in UTF-8.")
    faults.raise_if_any()


class _Records:
    """The rows of CSV text with the line each begins at; bounded whatever the text is."""

    def __init__(self, text: str, faults: FaultList) -> None:
        self.faults = faults
        self.begin = 1
        self.reader = csv.reader(self._lines(text), strict=True, skipinitialspace=True)

    def _lines(self, text: str) -> Iterator[str]:
        start, number = 0, 1
        while start < len(text):
            end = start + MAX_LINE_CHARACTERS
            end = text.rfind("\n", start, end) if end < len(text) else len(text)
            if end < 0:
                self.faults.add("a line is too long for a table made in the field", at=f"line {number}",
                                got=f"more than {MAX_LINE_CHARACTERS} characters", do="Is this the right file?")
                self.faults.raise_if_any()
            lines = text[start:end].split("\n")
            number += len(lines)
            yield from (f"{line}\n" for line in lines)
            start = end + 1

    def filled(self) -> Iterator[tuple[int, list[str]]]:
        """Yield (line, cells) of every row that has at least one filled cell."""
        try:
            for cells in self.reader:
                line, self.begin = self.begin, self.reader.line_num + 1
                if cells and ((cells[0] and not cells[0].isspace()) or any(cell.strip() for cell in cells)):
                    yield line, cells
        except csv.Error as error:
            self.faults.add("a row cannot be taken apart into cells", at=f"line {self.begin}", got=_csv_reason(error),
                            do='Cells in quotes must end with a quote; a quote inside is written twice ("").')
            self.faults.raise_if_any()


def _csv_reason(error: csv.Error) -> str:
    """Say in plain words what the CSV reader stumbled over."""
    text = str(error)
    if "unexpected end" in text:
        return "a quote that is opened and never closed"
    if "field larger" in text:
        return f"a cell of more than {csv.field_size_limit()} characters"
    return "something between a closing quote and the next comma" if "expected after" in text else text


def _check_separator(text: str, names: list[str], known: set[str], faults: FaultList) -> None:
    """Raise when the header is separated by something else than commas."""
    first = text.lstrip().split("\n", 1)[0][:10_000]
    for separator, word in WRONG_SEPARATORS.items():
        parts = [part.strip().strip('"') for part in first.split(separator)]
        if len(parts) > 1 and len(known & set(parts)) > len(known & set(names)):
            faults.add(f"the columns are separated by a {word}", at="line 1", got=shown(first), allowed="commas",
                       do="Save it as comma-separated CSV, with a decimal point in the numbers (a decimal comma cannot "
                       "stay).")
            faults.raise_if_any()
    if first.lower().startswith("sep="):
        faults.add("the first line is a spreadsheet's separator mark, not the header", at="line 1", got=shown(first),
                   do="Delete that line and separate the columns by commas.")
        faults.raise_if_any()


def _check_names(names: list[str], line: int, faults: FaultList) -> None:
    """Raise when the header has too many columns or two of one name."""
    if len(names) > MAX_COLUMNS:
        faults.add("there are too many columns", at=f"line {line}", got=str(len(names)),
                   allowed=f"up to {MAX_COLUMNS}", do="Is this the right file?")
    else:
        doubles = dict.fromkeys(name for name in names if name and names.count(name) > 1)
        if doubles:
            faults.add("a column stands twice in the header", at=f"line {line}",
                       got=listed(shown(name) for name in doubles), do="Rename or delete one of them.")
    faults.raise_if_any()


def _take_rows(
    records: _Records, names: list[str], faults: FaultList
) -> tuple[np.ndarray, dict[str, Column]]:
    """Return the lines and the coded columns of the rows that are as long as the header; note the others."""
    codes = [_Codes() for _ in names]
    taken: list[list[np.ndarray]] = [[] for _ in names]
    lines: list[np.ndarray] = []
    odd_lines: list[int] = []
    odd_rows: list[list[str]] = []
    rows = records.filled()
    while chunk := list(islice(rows, ROWS_AT_ONCE)):
        odd = [record for record in chunk if len(record[1]) != len(names)]
        if odd:
            odd_lines += [line for line, _ in odd]
            odd_rows += [cells for _, cells in odd[: max(0, 1000 - len(odd_rows))]]
            chunk = [record for record in chunk if len(record[1]) == len(names)]
        lines.append(np.array([line for line, _ in chunk], dtype=np.int64))
        for position, cells in enumerate(zip(*(cells for _, cells in chunk), strict=True)):
            taken[position].append(np.fromiter(map(codes[position].__getitem__, cells), np.int32, len(cells)))
    if odd_lines:
        _note_odd_rows(names, odd_lines, odd_rows, faults)
    columns = {
        name: Column(np.concatenate(parts) if parts else np.empty(0, np.int32), list(code))
        for name, code, parts in zip(names, codes, taken, strict=True)
    }
    return (np.concatenate(lines) if lines else np.empty(0, np.int64)), _named(columns, faults)


def _named(columns: dict[str, Column], faults: FaultList) -> dict[str, Column]:
    """Drop the column without a name that a trailing comma makes; note it when something stands in it."""
    nameless = columns.pop("", None)
    if nameless is not None and not nameless.is_blank().all():
        faults.add("a column has cells but no name in the header", do="Name it, or delete it.")
    return columns


def _note_odd_rows(names: list[str], lines: list[int], rows: list[list[str]], faults: FaultList) -> None:
    """Note the rows that are longer or shorter than the header, and whether a decimal comma did it."""
    comma = any(_split_by_decimal_comma(names, cells) for cells in rows)
    faults.add_rows(
        "a row has not as many cells as the header", lines, got=[f"{len(cells)} cells" for cells in rows],
        allowed=f"{len(names)} cells",
        do="A decimal comma splits a number in two cells: write -45.3, not -45,3." if comma
        else "Fill in the missing commas, put quotes around a cell that holds a comma, or delete the row.")


def _split_by_decimal_comma(names: list[str], cells: list[str]) -> bool:
    """Tell whether a number of the row, cut by a decimal comma, would explain its extra cells."""
    if len(cells) <= len(names):
        return False
    return any(left.strip().lstrip("+-−").isdigit() and right.strip().isdigit() for left, right in pairwise(cells))
