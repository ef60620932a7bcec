"""The record on disk: CSV in which no cell can be taken for a formula, whole at every moment."""

from __future__ import annotations

import csv
import io
import os
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from antexp.errors import Fault, ReadingsError
from antexp.field.csv_table import read_csv_table
from antexp.field.record_book import Row
from antexp.files import write_whole

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_FORMULA = re.compile(r"[=+\-@\t\r]")
_CONTROL = re.compile(r"[\x00-\x1f\x7f\u2028\u2029]+")


def safe_cell(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: such text gets a leading quote mark, numbers do not."""
    flat = _CONTROL.sub(" ", text)
    return f"'{flat}" if _FORMULA.match(flat) and not _NUMBER.fullmatch(flat) else flat


def plain_cell(text: str) -> str:
    """Return a cell as it was before `safe_cell`."""
    return text[1:] if re.match(r"'[=+\-@]", text) else text


def to_csv(columns: Sequence[str], rows: Iterable[Row]) -> str:
    """Return rows as CSV text."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        writer.writerow([safe_cell(row.get(name, "")) for name in columns])
    return text.getvalue()


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
                                  ", ".join(list(cells.columns)[:15]), "", f"Missing: {', '.join(missing)}."))
    texts = {name: cells.texts(name) for name in cells.columns}
    rows = tuple({name: plain_cell(texts[name][place]) for name in texts} for place in range(len(cells)))
    faults = [Fault("entry is not a number that rises", f"{path}, line {line}, column entry", rows[place]["entry"])
              for place, line in enumerate(cells.lines) if not _entry_rises(rows, place)]
    if faults:
        raise ReadingsError(faults[:20])
    return EndFile(str(path), tuple(cells.columns), rows, tuple(int(line) for line in cells.lines))


def _entry_rises(rows: Sequence[Row], place: int) -> bool:
    entry = rows[place]["entry"]
    if not entry.isascii() or not entry.isdigit() or int(entry) < 1:
        return False
    before = rows[place - 1]["entry"] if place else "1"
    return not (before.isascii() and before.isdigit()) or int(before) <= int(entry)


def _bare_head(path: str | os.PathLike[str]) -> tuple[str, ...]:
    """Return the columns of a file that holds a head and nothing else yet; none of any other file."""
    try:
        text = Path(path).read_text(encoding="utf-8-sig").strip()
    except (OSError, UnicodeDecodeError, ValueError):
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
