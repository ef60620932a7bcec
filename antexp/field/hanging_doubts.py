"""Doubts about what hung and when: words, wires against the order, times, heights, matching."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
import pandas as pd

from antexp.field.cells import text_of
from antexp.field.doubt import Doubt, whole
from antexp.field.reading_faults import counted, listed, shown
from antexp.field.record import Record
from antexp.field.word_slips import word_slips

# A wire's SWR moves a little with wet ground and hands near the box; more than this ratio is another match.
# (common practice, no source)
_SWR_RATIO = 1.25
# A hand's breadth: what a pole slips before anyone notices (common practice, no source).
_HEIGHT_CHANGE_M = 0.1


def hanging_doubts(record: Record, order: Any, reference: str | None) -> tuple[Doubt, ...]:
    """Return the doubts about hangings and times.

    Parameters
    ----------
    record : Record
        The record.
    order : Order or None
        What was to hang.
    reference : str or None
        The reference's name, where a plan or an order says it.
    """
    found = [*_words(record, order), *_other_wires(record), *_missing_swaps(record, order), *_hung_once(record),
             *_reference_missing(record, reference), *_times(record), *_matching(record), *_heights(record)]
    return tuple(found)


def _words(record: Record, order: Any) -> list[Doubt]:
    """Doubt check words that are not the order's; name the shift when it is one."""
    slips = () if order is None else word_slips(record.table, order.table)
    if not slips:
        return []
    shifts = Counter(slip.belongs_to - slip.swap for slip in slips if slip.belongs_to is not None)
    text = " ".join(str(slip) for slip in slips[:5]) + (f" And {len(slips) - 5} more." if len(slips) > 5 else "")
    if shifts:
        shift, times = shifts.most_common(1)[0]
        if times >= 2:
            text += (f" {times} of them are the words of {abs(shift)} swap{'s' if abs(shift) > 1 else ''} "
                     f"{'later' if shift > 0 else 'earlier'}: the two ends were out of step.")
    return [Doubt("words-out-of-step", text, whole(s.line for s in slips), whole(s.swap for s in slips))]


def _other_wires(record: Record) -> list[Doubt]:
    """Doubt, or rather tell, which swaps hung another wire than ordered."""
    if not record.corrections:
        return []
    rows = record.table[record.table["correction"].astype(str) != ""]
    return [Doubt("another-wire-hung", " ".join(record.corrections), whole(rows["line"]), whole(rows["swap"]))]


def _missing_swaps(record: Record, order: Any) -> list[Doubt]:
    """Tell which swaps of the order have no readings and whose hangings they were."""
    if order is None:
        return []
    missing = order.table[~order.table["swap"].isin(record.table["swap"])]
    if not len(missing):
        return []
    lost = Counter(text_of(name) for name in missing["candidate"])
    wires = listed((f"{shown(name)} {times}" for name, times in lost.items()), 10)
    text = (f"No readings of {counted(len(missing), 'swap')} of the order ({listed(missing['swap'], 10)}); "
            f"by wire: {wires}.")
    return [Doubt("swaps-without-readings", text, (), whole(missing["swap"]))]


def _hung_once(record: Record) -> list[Doubt]:
    """Doubt candidates with a single hanging."""
    swaps = record.table.drop_duplicates("swap")
    once = swaps[~swaps["candidate"].duplicated(keep=False)]
    if not len(once):
        return []
    names = listed((shown(name) for name in once["candidate"]), 10)
    return [Doubt("hung-once", f"Hung only once: {names}.", whole(once["line"]), whole(once["swap"]))]


def _reference_missing(record: Record, reference: str | None) -> list[Doubt]:
    """Doubt blocks in which the reference never hung."""
    if reference is None:
        return []
    has = record.table["candidate"].eq(reference).groupby(record.table["block"]).any()
    without = list(has.index[~has])
    if not without:
        return []
    rows = record.table[record.table["block"].isin(without)]
    return [Doubt("reference-missing", f"The reference {shown(reference)} did not hang in block {listed(without)}.", (),
                  whole(rows["swap"]))]


def _times(record: Record) -> list[Doubt]:
    """Doubt times that are not times, and swaps that begin before the swap before them."""
    if record.times_from == "order":
        return [Doubt("times-from-order", "The readings have no times; the order's planned ones stand for them.")]
    if record.times_from == "swap number":
        return [Doubt("times-from-swap-numbers", "The readings have no times; the swap numbers stand for them.")]
    table = record.table
    swaps = table.groupby(["block", "swap"], sort=True)["minutes"].agg(["min", "max"]).reset_index()
    latest = swaps.groupby("block")["max"].cummax().groupby(swaps["block"]).shift()
    early = swaps[swaps["min"] < latest]
    if not len(early):
        return []
    rows = table[table["swap"].isin(early["swap"])].drop_duplicates("swap")
    text = (f"Swap {listed(early['swap'])} begins before a swap with a smaller number in its block has ended: a wrong "
            "time, a wrong block, or a number given twice?")
    return [Doubt("times-out-of-order", text, whole(rows["line"]), whole(early["swap"]))]


def _matching(record: Record) -> list[Doubt]:
    """Doubt specimens whose SWR changed between hangings."""
    if "swr" not in record.table:
        return []
    spread = record.table.groupby(["candidate", "specimen"])["swr"].agg(["min", "max"])
    moved = spread[spread["max"] > _SWR_RATIO * spread["min"]]
    return [Doubt("swr-changed", f"The SWR of {shown(candidate)}, specimen {shown(specimen)}, went from "
                  f"{low:g} to {high:g} between hangings.", (), _swaps_of(record.table, candidate, specimen))
            for (candidate, specimen), low, high in zip(moved.index, moved["min"], moved["max"], strict=True)]


def _swaps_of(table: pd.DataFrame, candidate: str, specimen: str) -> tuple[int, ...]:
    """Return the swaps of a specimen."""
    return whole(table.loc[(table["candidate"] == candidate) & (table["specimen"] == specimen), "swap"])


def _heights(record: Record) -> list[Doubt]:
    """Doubt swaps that hung higher or lower than most at their place."""
    if "height_m" not in record.table:
        return []
    table = record.table[record.table["height_m"].notna()]
    usual = table.groupby("place")["height_m"].transform("median")
    off = table[np.abs(table["height_m"] - usual) > _HEIGHT_CHANGE_M]
    if not len(off):
        return []
    swaps = off.drop_duplicates("swap")
    text = "Not at the usual height: " + listed(
        f"swap {swap} at {height:g} m" for swap, height in zip(swaps["swap"], swaps["height_m"], strict=True)) + "."
    return [Doubt("height-changed", text, whole(off["line"]), whole(off["swap"]))]
