"""What hung during each reading: block, candidate, specimen and place, from the readings and the order file."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable, text_of
from antexp.field.reading_faults import FaultList, listed, nearest, shown

LABELS = ("block", "candidate", "specimen", "place")
Texts = NDArray[np.object_]


@dataclass(frozen=True)
class Hangings:
    """The labels of every row, all as text.

    Attributes
    ----------
    block, candidate, specimen, place : array of str, shape (n_rows,)
        "" only where a fault was noted.
    planned_minutes : array of float, shape (n_rows,), minutes, or None
        The order file's start of the row's swap within its block; None without an order.
    corrected : tuple of str
        One sentence for each swap whose wire differs from the order with a reason in ``correction``.
    missing_swaps : tuple of int
        Swaps of the order without a row.
    """

    block: Texts
    candidate: Texts
    specimen: Texts
    place: Texts
    planned_minutes: NDArray[np.float64] | None
    corrected: tuple[str, ...] = ()
    missing_swaps: tuple[int, ...] = ()


def read_hangings(
    cells: CellTable, faults: FaultList, *, swap: NDArray[np.float64], order: pd.DataFrame | None,
    names: Sequence[str] | None, names_from: str,
) -> Hangings:
    """Find what hung during each reading; note names that do not exist or contradict the order.

    Parameters
    ----------
    cells : CellTable
        The rows that read the signal.
    faults : FaultList
        Takes what is wrong.
    swap : array of float, shape (n_rows,)
        Swap numbers, NaN where at fault.
    order : DataFrame or None
        The order's table, one row a swap.
    names : sequence of str or None
        The candidates that exist, where something says so.
    names_from : str
        What says so: "plan" or "order file".
    """
    given = {label: cells.texts(label) for label in LABELS}
    planned: dict[str, Texts] = {}
    minutes = None
    if order is not None:
        row, minutes = _rows_in_order(cells, swap, order, faults)
        planned = {label: _planned(order, label, row) for label in LABELS}
    corrected = _compare_with_order(cells, swap, given, planned, faults) if planned else ()
    found = {label: np.where(given[label] == "", planned[label], given[label]) if planned else given[label]
             for label in LABELS}
    if order is not None:
        hung_other = (given["candidate"] != "") & (given["candidate"] != planned["candidate"])
        only = _only_specimens(order)
        instead = np.array([own or only.get(name, "") for own, name in
                            zip(given["specimen"][hung_other], given["candidate"][hung_other], strict=True)], object)
        found["specimen"][hung_other] = instead
    _fill_blanks(cells, swap, found, faults, ordered=order is not None)
    for label in LABELS:
        note_twin_names(cells, label, found[label], faults, within=found["candidate"] if label == "specimen" else None)
    if names is not None:
        _note_unknown(cells, found["candidate"], names, names_from, faults)
    there = set(np.unique(swap[~np.isnan(swap)]).astype(int).tolist())
    missing = () if order is None else tuple(int(s) for s in order["swap"] if int(s) not in there)
    return Hangings(**found, planned_minutes=minutes, corrected=corrected, missing_swaps=missing)


def _rows_in_order(
    cells: CellTable, swap: NDArray[np.float64], order: pd.DataFrame, faults: FaultList
) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
    """Return each row's place in the order (-1 where there is none) and its planned minutes."""
    row = pd.Index(order["swap"].to_numpy(dtype=float)).get_indexer(swap)
    lost = np.flatnonzero((row < 0) & ~np.isnan(swap))
    faults.add_rows("the swap is not in the order file", cells.lines[lost], column="swap",
                    got=[f"{swap[r]:g}" for r in lost[:50]],
                    allowed=f"{int(order['swap'].min())} to {int(order['swap'].max())}" if len(order) else "",
                    do="Is this the order these readings were made by?")
    minutes = order["minutes"].to_numpy(dtype=float)
    return row, np.where(row < 0, np.nan, minutes[row])


def _planned(order: pd.DataFrame, label: str, row: NDArray[np.int64]) -> Texts:
    """Return a label of the order for each row, "" where the swap or the column is missing."""
    texts = np.array([*(text_of(value) for value in order[label]), ""] if label in order else [""], dtype=object)
    return texts[row] if label in order else np.full(len(row), "", dtype=object)


def _only_specimens(order: pd.DataFrame) -> dict[str, str]:
    """Return the specimen of every candidate that has a single one in the order."""
    pairs = {(text_of(c), text_of(s)) for c, s in zip(order["candidate"], order["specimen"], strict=True)} \
        if "specimen" in order else set()
    count = Counter(candidate for candidate, _ in pairs)
    return {candidate: specimen for candidate, specimen in pairs if count[candidate] == 1}


def _compare_with_order(
    cells: CellTable, swap: NDArray[np.float64], given: dict[str, Texts], planned: dict[str, Texts], faults: FaultList
) -> tuple[str, ...]:
    """Note labels that differ from the order's; return those that a reason in ``correction`` excuses."""
    reason = cells.texts("correction")
    sentences: dict[str, None] = {}
    for label in LABELS:
        differs = (given[label] != "") & (planned[label] != "") & (given[label] != planned[label])
        excused = differs & (reason != "") & (label != "block")
        for r in np.flatnonzero(excused)[:10_000]:
            sentences[f"Swap {swap[r]:g}: {label} “{given[label][r]}” where the order has "
                      f"“{planned[label][r]}” ({reason[r]})."] = None
        rows = np.flatnonzero(differs & ~excused)
        faults.add_rows(
            f"{label} is not what the order file has for the swap", cells.lines[rows], column=label,
            got=[f"swap {swap[r]:g}: {shown(given[label][r])}, order {shown(planned[label][r])}" for r in rows[:50]],
            do="Correct whichever is wrong." if label == "block" else
            "If another one really hung, say why in a column correction on the rows of that swap; else correct it.")
    return tuple(sentences)


def _fill_blanks(
    cells: CellTable, swap: NDArray[np.float64], found: dict[str, Texts], faults: FaultList, *, ordered: bool
) -> None:
    """Put "1" where a label is not used at all, and note blanks where it is."""
    placed = ~np.isnan(swap)
    nameless = (found["candidate"] == "") & placed & ("candidate" in cells and not ordered)
    faults.add_rows("candidate is blank", cells.lines[nameless], column="candidate",
                    do="Fill it in, or give the order file with --order.")
    for label in ("block", "place"):
        blank = found[label] == ""
        if not blank.all():
            faults.add_rows(f"{label} is blank", cells.lines[blank & placed], column=label,
                            do=f"Fill it in on every row, or leave out the whole column if there is one {label} only.")
        found[label] = np.where(blank, "1", found[label]) if blank.all() else found[label]
    blank = found["specimen"] == ""
    if blank.any() and not blank.all():
        mixed = set(found["candidate"][blank]) & set(found["candidate"][~blank])
        rows = np.flatnonzero(blank & placed & np.isin(found["candidate"].astype(str), [str(m) for m in mixed]))
        faults.add_rows("specimen is blank on some rows of a candidate and filled on others", cells.lines[rows],
                        column="specimen",
                        got=[shown(found["candidate"][r]) for r in rows[:50]],
                        do="Name the specimen on every row of that candidate.")
    found["specimen"] = np.where(blank, "1", found["specimen"])


def note_twin_names(
    cells: CellTable, label: str, texts: Texts, faults: FaultList, within: Texts | None = None
) -> None:
    """Note two names of a column that differ only in capitals, spaces or the way a number or letter is coded.

    Parameters
    ----------
    cells : CellTable
        The table, for its lines.
    label : str
        The column.
    texts : array of str, shape (n_rows,)
        Its names.
    faults : FaultList
        Takes the fault.
    within : array of str, shape (n_rows,), optional
        Names of another column within which these are unique.
    """
    names = pd.DataFrame({"name": texts, "within": "" if within is None else within}).drop_duplicates()
    twins: dict[tuple[str, str], int] = {}
    for row, name, inside in zip(names.index, names["name"], names["within"], strict=True):
        first = twins.setdefault((_folded(name), inside), row)
        if first != row:
            faults.add(f"two names of a {label} differ only in capitals, spaces or coding",
                       at=f"{cells.row_word}s {cells.lines[first]} and {cells.lines[row]}, column {label}",
                       got=f"{shown(texts[first])} and {shown(name)}", do="Write it the same way everywhere.")
        if len(faults.faults) > 200:
            return


def _folded(name: str) -> str:
    """Return a name without what the eye does not tell apart."""
    text = " ".join(unicodedata.normalize("NFKC", name).casefold().split())
    try:
        return f"{float(text):g}" if text[:1].isdigit() else text
    except ValueError:
        return text


def _note_unknown(
    cells: CellTable, candidate: Texts, names: Sequence[str], names_from: str, faults: FaultList
) -> None:
    """Note candidates that the plan or the order does not have, with the nearest that it has."""
    known = set(names)
    unknown = [name for name in dict.fromkeys(candidate) if name and name not in known]
    for name in unknown[:20]:
        near = nearest(name, names)
        faults.add_rows(f"the {names_from} has no such candidate", cells.lines[candidate == name], column="candidate",
                        got=[shown(name)], allowed=listed((shown(n) for n in names), 10),
                        do=f"Did you mean {' or '.join(shown(n) for n in near)}?" if near else "")
    if len(unknown) > 20:
        faults.add(f"{len(unknown) - 20} more names are not candidates of the {names_from}", at="column candidate")
