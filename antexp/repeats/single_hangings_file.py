"""Somebody's table of single hangings, read from a file: a name, a level or a range, perhaps a standing-wave ratio."""

from __future__ import annotations

import csv
import io
import math
import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches

from antexp.decibels import DB_PER_S_UNIT, read_s_units
from antexp.errors import Fault, RepeatsError
from antexp.files import decode_text, read_raw
from antexp.plan.words import SCALES

COLUMNS = ("name", "level_db", "level_low_db", "level_high_db", "level_s", "swr")
MOST_ROWS = 100
_LONGEST_SHOWN = 80  # letters of a cell in a message
_MAX_BYTES = 2**20  # a hundred rows are a few kilobytes
_HALF_S_UNIT_DB = DB_PER_S_UNIT / 2


@dataclass(frozen=True)
class Hanging:
    """One row of the table.

    Attributes
    ----------
    name : str
        What hung.
    level_db : float, dB
        Its level, the middle of its range; higher = stronger.
    half_range_db : float, dB
        Half the width of the range it is known to lie in; 0 for a plain level.
    swr : float or None
        Standing-wave ratio.
    line : int
        Where it stands in the file.
    """

    name: str
    level_db: float
    half_range_db: float = 0.0
    swr: float | None = None
    line: int = 0


def read_single_hangings(path: str | os.PathLike[str], scale: str | None = None) -> tuple[Hanging, ...]:
    """Read a table of single hangings.

    Parameters
    ----------
    path : path-like
        A CSV file with a head: ``name`` (or ``candidate``), a level as ``level_db``, as ``level_low_db`` and
        ``level_high_db``, or as ``level_s`` (``S7``), and, where known, ``swr``. Comma, semicolon or tab between.
    scale : str, optional
        What the numbers of ``level_db`` are: one of `antexp.plan.words.SCALES`; "minus dBm": 67 means −67 dBm.

    Returns
    -------
    tuple of Hanging

    Raises
    ------
    FileError, RepeatsError
        All faults at once, with their lines.
    """
    if scale is not None and scale not in SCALES:
        raise RepeatsError(Fault("scale is not known", got=repr(scale), allowed=", ".join(SCALES)))
    where = str(path)
    rows = _rows(decode_text(read_raw(path, "table of single hangings", _MAX_BYTES), path, "table of single hangings"),
                 where)
    _check_head(rows[0][1], where)
    faults: list[Fault] = []
    hangings = [_hanging(_named(rows[0][1], cells), line, where, faults) for line, cells in rows[1:]]
    found = [hanging for hanging in hangings if hanging is not None]
    faults = faults[:MOST_ROWS]
    faults += _table_faults(found, len(rows) - 1, scale, where, faults, "level_s" in rows[0][1])
    if faults:
        raise RepeatsError(faults)
    sign = -1.0 if scale == "minus dBm" else 1.0
    return tuple(Hanging(h.name, sign * h.level_db, h.half_range_db, h.swr, h.line) for h in found)


def _rows(text: str, where: str) -> list[tuple[int, list[str]]]:
    """Split the text into rows of cells with their line numbers; blank lines are left out."""
    if "\0" in text:
        raise RepeatsError(Fault("the table of single hangings holds NUL bytes", where, do="Save it again as CSV."))
    head = text.split("\n", 1)[0]
    delimiter = max((",", ";", "\t"), key=head.count)
    reader = csv.reader(io.StringIO(text), delimiter=delimiter)
    try:
        rows = [(reader.line_num, [cell.strip() for cell in row]) for row in reader
                if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise RepeatsError(Fault("a row cannot be taken apart into cells", f"{where}, line {reader.line_num}",
                                 str(error), do="Is a quote opened and never closed?")) from None
    if not rows:
        raise RepeatsError(Fault("the table of single hangings is empty", where))
    return rows


def _named(head: list[str], cells: list[str]) -> dict[str, str]:
    """Pair cells with the names of their columns."""
    names = ["name" if name == "candidate" else name for name in head]
    return dict(zip(names, cells, strict=False))


def _check_head(head: list[str], where: str) -> None:
    """Refuse a head without a name or a level."""
    faults = []
    if "name" not in head and "candidate" not in head:
        near = get_close_matches("name", head, 1)
        faults.append(Fault("the table has no column of names", f"{where}, line 1", _listed(head),
                            "name (or candidate)",
                            f"Rename {near[0]!r}." if near else "Put column names in the first line."))
    if not ("level_db" in head or "level_s" in head or {"level_low_db", "level_high_db"} <= set(head)):
        faults.append(Fault("the table has no column of levels", f"{where}, line 1", _listed(head),
                            "level_db, or level_low_db and level_high_db, or level_s"))
    doubled = sorted(name for name, times in Counter(head).items() if name and times > 1)
    if doubled:
        faults.append(Fault("a column stands there twice", f"{where}, line 1", _listed(doubled)))
    if faults:
        raise RepeatsError(faults)


def _listed(names: Sequence[str]) -> str:
    """Return names for a message, not without end."""
    return f"{', '.join(names[:15])}{', …' if len(names) > 15 else ''}"[:400]


def _hanging(cells: Mapping[str, str], line: int, where: str, faults: list[Fault]) -> Hanging | None:
    """Read one row; its faults are added to those found."""
    before = len(faults)
    name = cells.get("name", "")
    if not name:
        faults.append(Fault("a row has no name", f"{where}, line {line}"))
    level, half = _level(cells, f"{where}, line {line}", faults)
    swr = _number(cells, "swr", f"{where}, line {line}", faults)
    if swr is not None and not 1 <= swr <= 100:
        faults.append(Fault("swr is impossible", f"{where}, line {line}, column swr", f"{swr:g}", "1 to 100"))
    return Hanging(name, level, half, swr, line) if len(faults) == before else None


def _level(cells: Mapping[str, str], where: str, faults: list[Fault]) -> tuple[float, float]:
    """Read the level of a row, and half the width of its range."""
    plain = _number(cells, "level_db", where, faults)
    low, high = (_number(cells, name, where, faults) for name in ("level_low_db", "level_high_db"))
    spoken = cells.get("level_s", "")
    given = [plain is not None, low is not None or high is not None, bool(spoken)]
    if sum(given) != 1:
        if not any(cells.get(name) for name in COLUMNS[1:5]) or sum(given) > 1:
            what = "the level is given twice" if any(given) else "the level is blank"
            faults.append(Fault(what, where, allowed="one of level_db, level_low_db with level_high_db, level_s"))
        return math.nan, 0.0
    if plain is not None:
        return plain, 0.0
    if spoken:
        try:
            return read_s_units(spoken), _HALF_S_UNIT_DB
        except ValueError as error:
            faults.append(Fault(str(error), f"{where}, column level_s"))
            return math.nan, 0.0
    if low is None or high is None or low > high:
        faults.append(Fault("a range needs a low and a high end", f"{where}, columns level_low_db, level_high_db",
                            f"{cells.get('level_low_db', '')[:30]} to {cells.get('level_high_db', '')[:30]}",
                            "low ≤ high"))
        return math.nan, 0.0
    return (low + high) / 2.0, (high - low) / 2.0


def _number(cells: Mapping[str, str], column: str, where: str, faults: list[Fault]) -> float | None:
    """Read a number; None for a blank or a fault."""
    text = cells.get(column, "").replace("−", "-")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        do = "Write a decimal point, not a comma." if "," in text else ""
        faults.append(Fault("text stands where a number belongs", f"{where}, column {column}",
                            repr(text[:_LONGEST_SHOWN]), do=do))
        return None
    if not math.isfinite(value) or abs(value) > 300:
        faults.append(Fault("the number is impossible", f"{where}, column {column}", text[:_LONGEST_SHOWN],
                            "−300 to 300"))
        return None
    return value


def _table_faults(
    found: list[Hanging], rows: int, scale: str | None, where: str, faults: list[Fault], in_s_units: bool
) -> list[Fault]:
    """Check what shows only in the table as a whole."""
    more = []
    if not 2 <= rows <= MOST_ROWS:
        do = "One wire alone cannot be compared." if rows < 2 else ""
        more.append(Fault("the table has too few rows" if rows < 2 else "the table has too many rows", where,
                          f"{rows} row{'s' if rows != 1 else ''}", f"2 to {MOST_ROWS}", do))
    first: dict[str, int] = {}
    for hanging in found[:MOST_ROWS]:
        if hanging.name in first:
            more.append(Fault("a name occurs twice", f"{where}, lines {first[hanging.name]} and {hanging.line}",
                              repr(hanging.name[:_LONGEST_SHOWN]),
                              do="This is for single hangings; repeated ones go to `antexp judge`."))
        first.setdefault(hanging.name, hanging.line)
    with_swr = sum(hanging.swr is not None for hanging in found)
    if found and not faults and 0 < with_swr < len(found):
        missing = next(hanging for hanging in found if hanging.swr is None)
        more.append(Fault("some rows have an swr and some have none", f"{where}, line {missing.line}, column swr",
                          f"{with_swr} of {len(found)}", "all or none",
                          "Fill the column, or leave it out and keep in mind that mismatch is part of the gaps."))
    return more + ([] if in_s_units else _sign_question(found, scale, where))


def _sign_question(found: list[Hanging], scale: str | None, where: str) -> list[Fault]:
    """Ask what positive numbers mean."""
    levels = [hanging.level_db for hanging in found]
    if scale is not None or not levels or min(levels) <= 0:
        return []
    return [Fault("every level is positive and no scale is stated", where, f"{levels[0]:g}, …",
                  do=f"Does {levels[0]:g} mean −{levels[0]:g} dBm? Then say --scale \"minus dBm\"; "
                  "if more is stronger, say --scale dB.")]
