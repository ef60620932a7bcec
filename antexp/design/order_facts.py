"""What a person wants to know about an order before running it: times, neighbours, what never meets."""

from __future__ import annotations

from itertools import combinations, pairwise

import pandas as pd

from antexp.design.balanced_blocks import is_balanced
from antexp.design.order_document import Order


def timetable(order: Order) -> pd.DataFrame:
    """Return one row a block.

    Returns
    -------
    DataFrame
        ``block``, ``swaps``, ``references`` (reference swaps), ``starts`` and ``finishes`` (``HH:MM``; None without
        sittings), ``minutes`` (of swapping; None where the time of a swap is not known).
    """
    rows = []
    starts = order.block_starts or (None,) * order.blocks
    for (label, block), start in zip(order.table.groupby("block", sort=False), starts, strict=True):
        minutes = None
        if order.minutes_per_swap is not None:
            minutes = float(block["minutes"].max() + order.minutes_per_swap)
        ends = None if start is None or minutes is None else start + minutes
        rows.append({"block": str(label), "swaps": len(block), "references": int((block["role"] == "reference").sum()),
                     "starts": clock(start), "finishes": clock(ends), "minutes": minutes})
    return pd.DataFrame(rows)


def clock(minute: float | None) -> str | None:
    """Return minutes after midnight as ``HH:MM``, rounded up to a whole minute."""
    if minute is None:
        return None
    whole = int(-(-minute // 1))
    return f"{whole // 60 % 24:02d}:{whole % 60:02d}"


def followers(order: Order) -> pd.DataFrame:
    """Count who hangs directly after whom within a block.

    Returns
    -------
    DataFrame of int
        A row a candidate (index), a column the one before it.
    """
    table = order.table
    names = list(dict.fromkeys(table["candidate"]))
    counts = pd.DataFrame(0, index=names, columns=names)
    for _, block in table.groupby("block", sort=False):
        hung = block["candidate"].tolist()
        for before, after in pairwise(hung):
            counts.loc[after, before] += 1
    return counts


def hang_again(order: Order) -> tuple[int, ...]:
    """Return the swaps at which the antenna that hangs is lowered and hung again: same specimen and place as before."""
    table = order.table
    same = (table[["candidate", "specimen", "place"]] == table[["candidate", "specimen", "place"]].shift()).all(axis=1)
    return tuple(int(swap) for swap in table.loc[same, "swap"])


def never_in_one_block(order: Order) -> tuple[tuple[str, str], ...]:
    """Return the pairs of candidates that no block holds together; only others tie them."""
    together: set[tuple[str, ...]] = set()
    for _, block in order.table.groupby("block"):
        together.update(combinations(sorted(set(block["candidate"])), 2))
    names = sorted(set(order.table["candidate"]))
    return tuple(pair for pair in combinations(names, 2) if pair not in together)


def kind_of_blocks(order: Order) -> str:
    """Return ``"complete"``, ``"balanced incomplete"`` or ``"incomplete"``, counted from the swaps still to come."""
    fresh = order.table.iloc[order.hung :]
    table = fresh[fresh["role"] == "candidate"]
    names = sorted(set(table["candidate"]))
    blocks = tuple(tuple(names.index(name) for name in block["candidate"]) for _, block in table.groupby("block"))
    if all(set(block) == set(range(len(names))) for block in blocks):
        return "complete"
    once = all(len(set(block)) == len(block) for block in blocks)
    equal = len({len(block) for block in blocks}) == 1
    return "balanced incomplete" if once and equal and is_balanced(blocks, len(names)) else "incomplete"
