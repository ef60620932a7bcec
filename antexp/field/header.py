"""The columns a readings file may have, and whether those that it must have are there."""

from __future__ import annotations

import re

from antexp.columns import READINGS
from antexp.field.cells import CellTable
from antexp.field.reading_faults import FaultList, nearest, shown
from antexp.notices import Notice

COLUMNS = READINGS.names


def check_columns(cells: CellTable, faults: FaultList, *, candidate_needed: bool) -> tuple[Notice, ...] | None:
    """Note needed columns that are missing and names that nearly are a known one.

    Parameters
    ----------
    cells : CellTable
        The table.
    faults : FaultList
        Takes what is wrong.
    candidate_needed : bool
        Whether no order file says the candidates.

    Returns
    -------
    tuple of Notice or None
        Columns that are passed through though their name looks like a known one; None when ``swap``, a level or
        (where needed) ``candidate`` is missing, so that the rest cannot be read.
    """
    unknown = [name for name in cells.columns if name not in COLUMNS]
    missing = []
    if "swap" not in cells:
        missing.append(("swap", "swap"))
    ends = [name for name in ("level_low_db", "level_high_db") if name in cells]
    if len(ends) == 1:
        missing.append(("level_high_db" if ends == ["level_low_db"] else "level_low_db", "the other end of the range"))
    elif not ends and "level_db" not in cells and "level_s" not in cells:
        missing.append(("level_db", "a level (level_db, or level_low_db and level_high_db, or level_s)"))
    if candidate_needed and "candidate" not in cells:
        missing.append(("candidate", "candidate (there is no order file to look it up in)"))
    for column, words in missing:
        near = nearest(column, unknown)
        faults.add(f"a column is missing: {words}", at="the header", got=", ".join(list(cells.columns)[:15])[:200],
                   do=f"Rename {' or '.join(shown(name) for name in near)} to {column}, if that is it." if near else
                   "The first line must name the columns." if column == "swap" else
                   "Add it, or give the order file with --order." if column == "candidate" else "Add it.")
    _check_twins(unknown, faults)
    if missing:
        return None
    return tuple(
        Notice("column-not-used", f"The column {shown(name)} is passed through and not used; "
               f"did you mean {near[0]}?")
        for name in unknown if (near := nearest(name, COLUMNS, 1)) and _close(name, near[0]))


def _squeezed(name: str) -> str:
    return re.sub(r"[\s_.()\[\]-]+", "", name).casefold()


def _check_twins(unknown: list[str], faults: FaultList) -> None:
    """Note columns that differ from a known one only in capitals, spaces or joints."""
    known = {_squeezed(name): name for name in COLUMNS}
    for name in unknown:
        if _squeezed(name) in known:
            faults.add("a column's name differs from a known one only in capitals, spaces or joints", at="the header",
                       got=shown(name), allowed=known[_squeezed(name)], do="Write it exactly so.")


def _close(name: str, known: str) -> bool:
    """Tell whether a name is one known with a letter more, less or other."""
    return abs(len(name) - len(known)) <= 1 and bool(nearest(name, [known])) and name not in ("notes",)
