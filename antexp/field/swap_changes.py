"""Contradictions between the rows of a swap, and the usual cause when it is plain."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.field.cells import CellTable
from antexp.field.hangings import LABELS, Hangings
from antexp.field.reading_faults import FaultList, listed, shown

_COUNT_ON = "Go on counting: if block 1 ends with swap 10, block 2 begins with swap 11."
_ALL_OVER = "swaps numbered 1… over the whole experiment"


def note_swap_faults(
    cells: CellTable, faults: FaultList, *, swap: NDArray[np.float64], hung: Hangings,
    receiver: NDArray[np.object_], reading: NDArray[np.float64],
) -> None:
    """Note swaps that change a label between their rows and readings that stand twice.

    Parameters
    ----------
    cells : CellTable
        The rows that read the signal.
    faults : FaultList
        Takes what is wrong.
    swap : array of float, shape (n_rows,)
        Swap numbers, NaN where at fault.
    hung : Hangings
        The labels of the rows.
    receiver : array of str, shape (n_rows,)
        Receivers.
    reading : array of float, shape (n_rows,)
        Reading numbers, NaN where at fault.
    """
    placed = np.flatnonzero(~np.isnan(swap))
    if not placed.size:
        return
    keys = pd.DataFrame({"swap": swap, "receiver": receiver, "reading": reading}).iloc[placed]
    twice = placed[(keys.duplicated(keep=False) & keys["reading"].notna()).to_numpy()]
    numbered = cells.has_values("reading")
    if _starts_again_in_blocks(swap[placed], hung.block[placed], faults):
        return
    if (twice.size or not numbered) and _starts_again_in_rows(cells, placed, swap, hung.block, receiver, faults):
        return
    faults.add_rows(
        "a reading stands twice", cells.lines[twice], column="swap, reading, receiver",
        got=[f"swap {swap[r]:g}, reading {reading[r]:g}, receiver {shown(receiver[r])}" for r in twice[:50]],
        do="Delete the copy, or number the readings of a swap 1, 2, 3…")
    codes, numbers = pd.factorize(swap[placed])
    for label in LABELS:
        _note_changes(cells, label, getattr(hung, label)[placed], placed, codes, numbers, faults)


def _note_changes(
    cells: CellTable, label: str, texts: NDArray[np.object_], placed: NDArray[np.int64], codes: NDArray[np.int64],
    numbers: NDArray[np.float64], faults: FaultList,
) -> None:
    """Note swaps whose rows do not all have the label of the swap's first row."""
    label_codes, _ = pd.factorize(texts)
    first = np.empty(len(numbers), dtype=np.int64)
    first[codes[::-1]] = np.arange(len(codes))[::-1]
    before = first[codes]
    changed = np.flatnonzero((label_codes != label_codes[before]) & (texts != "") & (texts[before] != ""))
    faults.add_rows(
        f"a swap changes its {label} between its rows", cells.lines[placed[changed]], column=label,
        got=[f"swap {numbers[codes[r]]:g}: {shown(texts[before[r]])}, then {shown(texts[r])}" for r in changed[:50]],
        do="A swap is one hanging of one specimen: give a new hanging a new swap number, or correct the name.")


def _starts_again_in_blocks(swap: NDArray[np.float64], block: NDArray[np.object_], faults: FaultList) -> bool:
    """Note a swap count that starts again in each block; return whether it does."""
    pairs = pd.DataFrame({"swap": swap, "block": block}).drop_duplicates()
    starts = pairs.groupby("block")["swap"].min()
    again = starts.index[starts == starts.min()]
    shared = int((pairs["swap"].value_counts() > 1).sum())
    if len(again) < 2 or shared < 2 or shared < 0.5 * pairs["block"].value_counts().min():
        return False
    faults.add("the swap count starts again in each block", at="columns swap and block",
               got=f"swap {starts.min():g} in blocks {listed(again)}", allowed=_ALL_OVER, do=_COUNT_ON)
    return True


def _starts_again_in_rows(
    cells: CellTable, placed: NDArray[np.int64], swap: NDArray[np.float64], block: NDArray[np.object_],
    receiver: NDArray[np.object_], faults: FaultList,
) -> bool:
    """Note a swap count that, in a file without blocks, falls back to its beginning; return whether it does."""
    if len(set(block[placed])) > 1:
        return False
    for name in dict.fromkeys(receiver[placed]):
        rows = placed[receiver[placed] == name]
        numbers = swap[rows]
        begins = np.flatnonzero(np.diff(numbers, prepend=np.nan) != 0)
        runs = numbers[begins]
        falls = begins[1:][(np.diff(runs) < 0) & (runs[1:] == runs.min())]
        distinct, times = np.unique(runs, return_counts=True)
        if falls.size and (times > 1).sum() >= max(2, 0.5 * len(distinct)):
            faults.add_rows("the swap count starts again", cells.lines[rows[falls]], column="swap",
                            got=[f"swap {runs.min():g}"], allowed=_ALL_OVER,
                            do=f"Is this a new block? {_COUNT_ON} Or do these rows repeat the same hangings? "
                            "Then number them in a column reading.")
            return True
    return False
