"""The rest of a day that went otherwise: what hangs already is kept, the remaining blocks are laid out anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.allocation import Contents, allocate
from antexp.design.day import BlockFrame, lay_out_day
from antexp.design.demand import Demand
from antexp.design.layout import Hung, shrink_to_contents
from antexp.design.reference_slots import reference_positions, split_block
from antexp.errors import Fault, OrderError

# Swaps that a stopped block left over make a block of their own from here on: two candidates between two references.
_MAKE_UP_SWAPS = 4


def hung_swaps(demand: Demand, done: Any, without: Sequence[str]) -> tuple[Demand, Hung]:
    """Read what hangs already.

    Parameters
    ----------
    demand : Demand
    done : Record, DataFrame or None
        Readings or swaps with ``swap, block, candidate``; ``specimen, place, minutes`` where known.
    without : sequence of str
        Candidates that can no longer be hung.

    Returns
    -------
    demand : Demand
        Candidates that are gone and never hung are left out of it; those that hung before are not available again.
    hung : Hung

    Raises
    ------
    OrderError
        When a candidate is not in the plan, or the reference itself is gone.
    """
    table = pd.DataFrame() if done is None else _one_row_a_swap(getattr(done, "table", done))
    hung_names = set(table["candidate"]) if len(table) else set()
    _check_names(demand, hung_names, without)
    demand = _without(demand, set(without), hung_names)
    if not len(table):
        return demand, Hung()
    codes = {name: code for code, name in enumerate(demand.names)}
    left_out = getattr(done, "left_out", None)
    numbers = [int(table["swap"].max())]
    if left_out is not None and len(left_out) and "swap" in left_out:
        numbers.append(int(pd.to_numeric(left_out["swap"]).max()))
    return demand, Hung(
        swap=tuple(int(swap) for swap in table["swap"]),
        block=tuple(str(label) for label in table["block"]),
        minutes=tuple(float(m) for m in table["minutes"]),
        code=tuple(codes[name] for name in table["candidate"]),
        specimen=tuple(str(label) for label in table["specimen"]),
        place=tuple(str(label) for label in table["place"]),
        last_swap=max(numbers),
    )


def rest_of_day(demand: Demand, hung: Hung, same_block: bool) -> tuple[tuple[BlockFrame, ...], Contents, Hung]:
    """Lay out the blocks that are still to come.

    Parameters
    ----------
    demand : Demand
    hung : Hung
    same_block : bool
        Whether the last block goes on.

    Returns
    -------
    frames : tuple of BlockFrame
    contents : tuple of tuple of int
    hung : Hung
        Told whether its last block goes on.

    Raises
    ------
    OrderError
        When nothing is left to hang.
    """
    planned = lay_out_day(demand)
    begun = len(hung.blocks)
    frames = list(planned[begun:])
    missing = sum(_missing(demand, frame, number, hung) for number, frame in enumerate(planned[:begun], start=1))
    first: list[BlockFrame] = []
    if same_block and 0 < begun <= len(planned):
        first = _rest_of_block(demand, planned[begun - 1], hung)
        missing -= sum(frame.swaps for frame in first)
    if missing >= _MAKE_UP_SWAPS and not demand.sittings:
        frames.append(_make_up_block(demand, min(missing, planned[0].swaps)))
    if not first and not frames:
        raise OrderError(Fault("nothing is left to hang", "readings of the swaps done", f"{len(hung)} swaps in {begun} "
                               "block(s)", f"{sum(f.swaps for f in planned)} planned in {len(planned)}",
                               "Judge the record, or plan more blocks (field.blocks or field.hours)."))
    known, counts = _known(demand, hung)
    opening = _rest_contents(demand, first, hung)
    for own in opening:
        np.add.at(counts, np.array(own, int) - 1, 1)
    contents = allocate(demand, frames, first_block=begun + 1, known=known, hung=counts) if frames else ()
    return (*first, *shrink_to_contents(frames, contents)), (*opening, *contents), replace(hung, goes_on=bool(first))


def _missing(demand: Demand, frame: BlockFrame, number: int, hung: Hung) -> int:
    """Return how many swaps of a planned block were never hung."""
    most = sum(demand.repeats[c] for c in range(1, len(demand.names)) if demand.is_available(c, number))
    room = frame.candidate_swaps if demand.candidates == 1 else min(frame.candidate_swaps, most)
    done = sum(label == hung.blocks[number - 1] for label in hung.block)
    return max(0, frame.swaps - frame.candidate_swaps + room - done)


def _one_row_a_swap(table: pd.DataFrame) -> pd.DataFrame:
    """Return one row a swap in the order of swap numbers, what is not known filled in."""
    missing = [name for name in ("swap", "block", "candidate") if name not in table]
    if missing:
        raise OrderError(Fault("the swaps done lack columns", "", ", ".join(map(str, table.columns)),
                               "swap, block, candidate", f"Missing: {', '.join(missing)}."))
    table = table.sort_values("swap", kind="stable")
    rows = table.groupby("swap", sort=True).first().reset_index()
    rows["candidate"] = rows["candidate"].astype(str)
    for name in ("specimen", "place"):
        rows[name] = rows[name].astype(str) if name in rows else "1"
    if "minutes" in rows:
        rows["minutes"] = table.groupby("swap", sort=True)["minutes"].min().to_numpy(float)
    else:
        rows["minutes"] = rows.groupby("block").cumcount().astype(float)
    return rows


def _check_names(demand: Demand, hung: set[str], without: Sequence[str]) -> None:
    """Refuse names that the plan does not know, and a day without its reference."""
    faults = [Fault("a candidate is not in the plan", "readings of the swaps done", name, ", ".join(demand.names))
              for name in sorted(hung - set(demand.names))]
    faults += [Fault("a candidate to be left out is not in the plan", "", name, ", ".join(demand.names))
               for name in without if name not in demand.names]
    if demand.names[0] in without:
        faults.append(Fault("the reference cannot be left out", "", demand.names[0],
                            do="It ties the blocks together. Mend it, or judge what there is and plan a new day "
                            "with another reference."))
    if not set(demand.names[1:]) - set(without):
        faults.append(Fault("nothing is left to compare with the reference", "", ", ".join(without),
                            do="Leave at least one candidate, or judge what there is."))
    if faults:
        raise OrderError(faults)


def _without(demand: Demand, gone: set[str], hung: set[str]) -> Demand:
    """Take candidates that are gone out of the demand, or out of the blocks to come where they hung before."""
    kept = [code for code, name in enumerate(demand.names) if name not in gone or name in hung]
    return replace(
        demand,
        names=tuple(demand.names[code] for code in kept),
        repeats=tuple(demand.repeats[code] for code in kept),
        specimens=tuple(demand.specimens[code] for code in kept),
        available=tuple(frozenset[int]() if demand.names[code] in gone else demand.available[code] for code in kept),
    )


def _rest_of_block(demand: Demand, planned: BlockFrame, hung: Hung) -> list[BlockFrame]:
    """Return the part of the last block that is still to come, its closing reference included."""
    done = sum(label == hung.blocks[-1] for label in hung.block)
    swaps = planned.swaps - done
    if swaps < 1:
        return []
    left = tuple(position - done for position in planned.references if position >= done)
    return [replace(planned, swaps=swaps, references=left or (swaps - 1,), free_references=0)]


def _rest_contents(demand: Demand, first: list[BlockFrame], hung: Hung) -> Contents:
    """Return the candidates that the open block has not had, as many as it still holds."""
    if not first:
        return ()
    here = Counter(code for code, label in zip(hung.code, hung.block, strict=True) if label == hung.blocks[-1])
    ever = Counter(hung.code)
    number = len(hung.blocks)
    wanted = [code for code in range(1, len(demand.names)) for _ in range(demand.repeats[code] - here[code])
              if demand.is_available(code, number)]
    if demand.candidates == 1:
        wanted = [1] * first[0].candidate_swaps
    wanted.sort(key=lambda code: ever[code])
    chosen = tuple(sorted(wanted[: first[0].candidate_swaps]))
    short = first[0].candidate_swaps - len(chosen)
    if short:
        swaps = first[0].swaps - short
        first[0] = replace(first[0], swaps=swaps, references=(swaps - 1,))
        chosen = chosen[: swaps - 1]
    return (chosen,)


def _make_up_block(demand: Demand, swaps: int) -> BlockFrame:
    """Return a block for the swaps that stopped blocks left over."""
    if demand.candidates == 1:
        return BlockFrame(swaps, (0, swaps - 1), (swaps + 1) // 2 - 2)
    references = split_block(swaps, demand.candidates, demand.reference_every, demand.compare)
    return BlockFrame(swaps, reference_positions(swaps, references))


def _known(demand: Demand, hung: Hung) -> tuple[NDArray[np.float64], NDArray[np.intp]]:
    """Return the information of the swaps done, block levels swept out, and the hangings of each candidate."""
    k = demand.candidates
    N = np.zeros((k + 1, max(1, len(hung.blocks))), np.intp)
    for code, label in zip(hung.code, hung.block, strict=True):
        N[code, hung.blocks.index(label)] += 1
    size = np.maximum(N.sum(axis=0), 1)
    information = np.diag(N.sum(axis=1)) - (N / size) @ N.T
    return information[1:, 1:], N[1:].sum(axis=1)
