"""What an order must not be written over: readings, a plan, a filled form; the work of a day is in them."""

from __future__ import annotations

import csv
import os
from collections.abc import Sequence
from itertools import islice
from pathlib import Path

from antexp.errors import Fault, OrderError

_SHOWN = 60
_MOST_LINES = 1000


def refuse_to_replace(path: str | os.PathLike[str], columns: Sequence[str]) -> None:
    """Refuse a path at which something other than an order file stands.

    Parameters
    ----------
    path : path-like
        Where the order file is to be written; what is not there, or empty, may be replaced.
    columns : sequence of str
        The header of an order file. A file with more columns is none: readings are often written into a copy.

    Raises
    ------
    OrderError
    """
    first = first_line(Path(path))
    if first and [name.strip() for name in first.split(",")] != list(columns):
        raise OrderError(Fault("something that is no order file stands where the order would be written", str(path),
                               first if len(first) <= _SHOWN else f"{first[:_SHOWN]}…",
                               do="Choose another name with -o; nothing was changed."))


def refuse_filled_form(path: str | os.PathLike[str]) -> None:
    """Refuse a path at which a form stands that holds levels already.

    Raises
    ------
    OrderError
    """
    try:
        filled = sum(bool((row.get("level_db") or "").strip()) for row in csv.DictReader(_lines(Path(path))))
    except csv.Error:
        filled = 1  # something that cannot be told: better kept
    if filled:
        raise OrderError(Fault("the form holds readings already, and a new one would replace them", str(path),
                               f"{filled} filled row{'s' if filled > 1 else ''}",
                               do="Choose another name with -o, or move the form away; nothing was changed."))


def first_line(path: Path) -> str:
    """Return the first line of a file that is not blank; empty where there is none."""
    return next((line.strip() for line in _lines(path) if line.strip()), "")


def _lines(path: Path) -> list[str]:
    """Return the first lines of a file; none where there is no file, or none that can be read."""
    if not path.is_file():
        return []
    try:
        with open(path, encoding="utf-8-sig", errors="replace") as stream:
            return list(islice(stream, _MOST_LINES))
    except OSError:
        return []  # writing will say what is wrong with it
