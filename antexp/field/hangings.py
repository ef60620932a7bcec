"""What hung during each reading: block, candidate, specimen and place, from the readings and the order file."""

from __future__ import annotations

import unicodedata
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
    """Find what hung during each reading, and note every contradiction.

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

    Returns
    -------
    Hangings
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
    if planned:
        hung_other = (given["candidate"] != "") & (given["candidate"] != planned["candidate"])
        found["specimen"] = np.where(hung_other, given["specimen"], found["specimen"])
    _fill_blanks(cells, swap, found, faults, ordered=order is not None)
    for label in LABELS:
        note_twin_names(cells, label, found[label], faults, within=found["candidate"] if label == "specimen" else None)
    if names is not None:
        _note_unknown(cells, found["candidate"], names, names_from, faults)
    _note_changes(cells, swap, found, faults)
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
            sentences[f"Swap {swap[r]:g}: {label} {shown(given[label][r])} where the order has "
                      f"{shown(planned[label][r])} ({reason[r]})."] = None
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
    faults.add_rows("candidate is blank", cells.lines[nameless], do="Fill it in, or give the order file with --order.")
    for label in ("block", "place"):
        blank = found[label] == ""
        if not blank.all():
            faults.add_rows(f"{label} is blank", cells.lines[blank & placed],
                            do=f"Fill it in on every row, or leave out the whole column if there is one {label} only.")
        found[label] = np.where(blank, "1", found[label]) if blank.all() else found[label]
    blank = found["specimen"] == ""
    if blank.any() and not blank.all():
        mixed = set(found["candidate"][blank]) & set(found["candidate"][~blank])
        rows = np.flatnonzero(blank & placed & np.isin(found["candidate"].astype(str), [str(m) for m in mixed]))
        faults.add_rows("specimen is blank on some rows of a candidate and filled on others", cells.lines[rows],
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


def _note_changes(
    cells: CellTable, swap: NDArray[np.float64], found: dict[str, Texts], faults: FaultList
) -> None:
    """Note swaps that change a label between their rows, and the usual cause when it is plain."""
    placed = np.flatnonzero(~np.isnan(swap))
    if not placed.size:
        return
    codes, numbers = pd.factorize(swap[placed])
    if _note_restart(cells, swap, codes, numbers, found["block"][placed], faults):
        return
    for label in LABELS:
        texts = found[label][placed]
        label_codes, _ = pd.factorize(texts)
        first = np.empty(len(numbers), dtype=np.int64)
        first[codes[::-1]] = np.arange(len(codes))[::-1]
        changed = np.flatnonzero((label_codes != label_codes[first[codes]]) & (texts != "")
                                 & (texts[first[codes]] != ""))
        faults.add_rows(
            f"a swap changes its {label} between its rows", cells.lines[placed[changed]], column=label,
            got=[f"swap {numbers[codes[r]]:g}: {shown(texts[first[codes[r]]])}, then {shown(texts[r])}"
                 for r in changed[:50]],
            do="A swap is one hanging of one specimen: give a new hanging a new swap number, or correct the name. "
            "Swaps are numbered 1… over the whole experiment, not in each block anew.")


def _note_restart(
    cells: CellTable, swap: NDArray[np.float64], codes: NDArray[np.int64], numbers: NDArray[np.float64],
    block: Texts, faults: FaultList,
) -> bool:
    """Note a swap count that starts again in each block; return whether it does."""
    pairs = pd.DataFrame({"swap": codes, "block": block}).drop_duplicates()
    blocks = pairs["block"].nunique()
    shared = int((pairs["swap"].value_counts() > 1).sum())
    if blocks < 2 or shared < max(2, 0.5 * pairs["block"].value_counts().min()):
        return False
    starts = pd.Series(numbers[pairs["swap"].to_numpy()]).groupby(pairs["block"].to_numpy()).min()
    again = [name for name in starts.index if starts[name] == starts.min()]
    if len(again) < 2:
        return False
    faults.add("the swap count starts again in each block", at="columns swap and block",
               got=f"swap {starts.min():g} in blocks {listed(again)}",
               allowed="swaps numbered 1… over the whole experiment",
               do="Go on counting: if block 1 ends with swap 10, block 2 begins with swap 11.")
    return True
