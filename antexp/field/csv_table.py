"""Reading a comma-separated file into cells, with the line of every row and no guess about any of them."""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Iterable, Iterator
from itertools import islice, pairwise

import numpy as np
from numpy.typing import NDArray

from antexp.errors import ReadingsError
from antexp.field.cells import CellTable, Column
from antexp.field.reading_faults import FaultList, listed, shown
from antexp.files import decode_text, read_raw

# Far beyond any day in the field; a file above them is something else, and would fill the memory.
MAX_BYTES = 512 * 2**20
MAX_COLUMNS = 1000
MAX_LINE_CHARACTERS = 1_000_000
ROWS_AT_ONCE = 8192
WRONG_SEPARATORS = {";": "semicolon", "\t": "tab", "|": "vertical bar", " ": "space"}


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
    _check_separator(text, names, header_line, set(known), faults)
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
        self.one_line_a_row = '"' not in text
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
        while rows := self._next(1):
            line, self.begin = self.begin, self.reader.line_num + 1
            if not _is_blank(rows[0]):
                yield line, rows[0]

    def pieces(self) -> Iterator[tuple[NDArray[np.int64], list[list[str]]]]:
        """Yield the lines and the cells of the filled rows that are left, many at once."""
        if not self.one_line_a_row:
            records = self.filled()
            while chunk := list(islice(records, ROWS_AT_ONCE)):
                yield np.array([line for line, _ in chunk]), [cells for _, cells in chunk]
            return
        while rows := self._next(ROWS_AT_ONCE):
            lines = np.arange(self.begin, self.begin + len(rows))
            self.begin += len(rows)
            blank = [place for place, cells in enumerate(rows) if not (cells and cells[0]) and _is_blank(cells)]
            if blank:
                lines = np.delete(lines, blank)
                rows = [cells for cells in rows if not _is_blank(cells)]
            yield lines, rows

    def _next(self, count: int) -> list[list[str]]:
        """Return the next rows as they come, blank ones too; raise when one cannot be taken apart."""
        try:
            return list(islice(self.reader, count))
        except csv.Error as error:
            line = self.reader.line_num if self.one_line_a_row else self.begin
            self.faults.add("a row cannot be taken apart into cells", at=f"line {line}", got=_csv_reason(error),
                            do='Cells in quotes must end with a quote; a quote inside is written twice ("").')
            raise ReadingsError(self.faults.faults) from None


def _is_blank(cells: list[str]) -> bool:
    """Tell whether a row has no filled cell."""
    return not any(cell and not cell.isspace() for cell in cells)


def _csv_reason(error: csv.Error) -> str:
    """Say in plain words what the CSV reader stumbled over."""
    text = str(error)
    if "unexpected end" in text:
        return "a quote that is opened and never closed"
    if "field larger" in text:
        return f"a cell of more than {csv.field_size_limit()} characters"
    return "something between a closing quote and the next comma" if "expected after" in text else text


def _check_separator(text: str, names: list[str], line: int, known: set[str], faults: FaultList) -> None:
    """Raise when the header is separated by something else than commas."""
    first = text.lstrip().split("\n", 1)[0][:10_000]
    for separator, word in WRONG_SEPARATORS.items():
        parts = [part.strip().strip('"') for part in first.split(separator)]
        if len(parts) > 1 and len(known & set(parts)) > len(known & set(names)):
            faults.add(f"the columns are separated by a {word}", at=f"line {line}", got=shown(first), allowed="commas",
                       do="Save it as comma-separated CSV, with a decimal point in the numbers (a decimal comma cannot "
                       "stay).")
            faults.raise_if_any()
    if first.lower().startswith("sep="):
        faults.add("the first line is a spreadsheet's separator mark, not the header", at=f"line {line}",
                   got=shown(first), do="Delete that line and separate the columns by commas.")
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
    for piece_lines, rows in records.pieces():
        odd = [place for place, cells in enumerate(rows) if len(cells) != len(names)]
        if odd:
            odd_lines += piece_lines[odd].tolist()
            odd_rows += [rows[place] for place in odd[: max(0, 1000 - len(odd_rows))]]
            piece_lines = np.delete(piece_lines, odd)
            rows = [cells for cells in rows if len(cells) == len(names)]
        lines.append(piece_lines)
        for position, cells in enumerate(zip(*rows, strict=True)):
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
