"""The record on disk: CSV in which no cell can be taken for a formula, whole at every moment."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from antexp.errors import Fault, ReadingsError
from antexp.field.csv_table import read_csv_table
from antexp.field.record_book import Row
from antexp.files import write_whole
from antexp.spreadsheet import csv_text

_LONGEST_COUNT = 9  # digits; a number of thousands of them is none that a page counted up to
_LARGEST_HEAD = 100_000  # bytes; a file that holds a head alone is shorter


def to_csv(columns: Sequence[str], rows: Iterable[Row]) -> str:
    """Return rows as CSV text."""
    return csv_text(columns, ([row.get(name, "") for name in columns] for row in rows))


@dataclass(frozen=True)
class EndFile:
    """A file that a page or the recorder wrote.

    Attributes
    ----------
    path : str
    columns : tuple of str
    rows : tuple of Row
        Every cell as text.
    lines : tuple of int
        Line of each row.
    """

    path: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    lines: tuple[int, ...]


def read_end_file(path: str | os.PathLike[str], columns: Sequence[str], what: str) -> EndFile:
    """Read a file of one end.

    Parameters
    ----------
    path : path-like
    columns : sequence of str
        Those that must be there.
    what : str
        What the file is to the user.

    Returns
    -------
    EndFile
        No rows for a file that holds its head alone.

    Raises
    ------
    FileError, ReadingsError
        When it cannot be read, or was not written by a page or the recorder.
    """
    head = _bare_head(path)
    if set(columns) <= set(head):
        return EndFile(str(path), head, (), ())
    cells = read_csv_table(path, what, columns)
    missing = [name for name in columns if name not in cells]
    if cells.faults:
        raise ReadingsError(cells.faults)
    if missing:
        raise ReadingsError(Fault(f"this {what} was written by neither a page nor the recorder", f"{path}, line 1",
                                  ", ".join(list(cells.columns)[:15])[:300], "", f"Missing: {', '.join(missing)}."))
    texts = {name: cells.texts(name) for name in cells.columns}
    rows = tuple({name: texts[name][place] for name in texts} for place in range(len(cells)))
    faults = [Fault("entry is not a number that rises", f"{path}, line {line}, column entry", rows[place]["entry"])
              for place, line in enumerate(cells.lines) if not _entry_rises(rows, place)]
    if faults:
        raise ReadingsError(faults[:20])
    return EndFile(str(path), tuple(cells.columns), rows, tuple(int(line) for line in cells.lines))


def _entry_rises(rows: Sequence[Row], place: int) -> bool:
    entry = rows[place]["entry"]
    if not is_count(entry) or int(entry) < 1:
        return False
    before = rows[place - 1]["entry"] if place else "1"
    return not is_count(before) or int(before) <= int(entry)


def is_count(text: str) -> bool:
    """Tell whether a cell holds a number that something was counted up to."""
    return text.isascii() and text.isdigit() and len(text) <= _LONGEST_COUNT


def _bare_head(path: str | os.PathLike[str]) -> tuple[str, ...]:
    """Return the columns of a file that holds a head and nothing else yet; none of any other file."""
    try:
        with open(path, "rb") as stream:
            text = stream.read(_LARGEST_HEAD).decode("utf-8-sig").strip()
    except (OSError, ValueError):
        return ()
    return () if "\n" in text else tuple(text.split(","))


def save(path: Path, columns: Sequence[str], rows: Iterable[Row]) -> bytes:
    """Write a record whole and return once it is on the disk, its name in the folder included.

    Returns
    -------
    bytes
        What now stands in the file.

    Raises
    ------
    FileError
        When it cannot be written; then the file is as it was before.
    """
    content = to_csv(columns, rows).encode("utf-8")
    write_whole(path, content)
    sync_folder(path.parent)
    return content


def sync_folder(folder: Path) -> None:
    """Force a folder's entries to disk, so that a rename outlives a power cut; not all systems offer it."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # a folder cannot be opened on Windows, where the rename is journalled by the file system
        return
    try:
        os.fsync(handle)
    except OSError:  # network file systems may refuse; the file itself is synced already
        pass
    finally:
        os.close(handle)


def remove_leftovers(path: Path) -> None:
    """Remove what a recorder that was killed while writing left beside the record."""
    for leftover in path.parent.glob(f".{_literal(path.name[:40])}.*.part"):
        leftover.unlink(missing_ok=True)


def _literal(name: str) -> str:
    """Return a name with nothing in it that a file pattern would read otherwise."""
    return re.sub(r"([\[\]*?])", r"[\1]", name)
