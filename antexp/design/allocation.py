"""Which candidates hang in which block."""

from __future__ import annotations

from antexp.design.day import BlockFrame
from antexp.design.demand import Demand
from antexp.errors import Fault, OrderError


def allocate(demand: Demand, frames: tuple[BlockFrame, ...]) -> tuple[tuple[int, ...], ...]:
    """Choose the candidates of every block.

    Parameters
    ----------
    demand : Demand
    frames : tuple of BlockFrame

    Returns
    -------
    tuple of tuple of int
        For each block the codes of its candidate swaps.

    Raises
    ------
    OrderError
        When the blocks cannot hold what is asked.
    """
    complete = tuple(code for code in range(1, demand.candidates + 1) for _ in range(demand.repeats[code]))
    if demand.candidates == 1:
        return tuple((1,) * frame.candidate_swaps for frame in frames)
    smallest = min(frame.candidate_swaps for frame in frames)
    if smallest < len(complete):
        raise OrderError(Fault("a block cannot hold every candidate", "plan, section field",
                               f"room for {smallest} candidate swaps a block", f"{len(complete)}",
                               f"Allow {len(complete) + 2} swaps a block or compare {smallest} candidates."))
    return (complete,) * len(frames)
