"""Which candidates hang in which block: complete where the room allows, else balanced, else searched."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from antexp.design.balanced_blocks import balanced_blocks
from antexp.design.day import BlockFrame
from antexp.design.demand import Demand
from antexp.design.exchange import BlockDemand, search
from antexp.design.information import contrast_rows
from antexp.design.streams import BLOCKS
from antexp.errors import Fault, OrderError

Contents = tuple[tuple[int, ...], ...]


def allocate(
    demand: Demand,
    frames: Sequence[BlockFrame],
    *,
    first_block: int = 1,
    known: NDArray[np.float64] | None = None,
    hung: NDArray[np.intp] | None = None,
    report: Callable[[float], None] | None = None,
) -> Contents:
    """Choose the candidates of every block.

    Parameters
    ----------
    demand : Demand
    frames : sequence of BlockFrame
    first_block : int
        Number of the first of these blocks, counted from 1: availability is stated by block number.
    known : ndarray, shape (k, k), optional
        Information from swaps already hung.
    hung : ndarray of int, shape (k,), optional
        Hangings already done.
    report : callable, optional
        Called with the share of the search that is done.

    Returns
    -------
    tuple of tuple of int
        For each block the codes of its candidate swaps, rising.

    Raises
    ------
    OrderError
        When some candidates would never hang; all are named.
    """
    k = demand.candidates
    _check_blocks_have_candidates(demand, len(frames), first_block)
    if k == 1:
        return tuple((1,) * frame.candidate_swaps for frame in frames)
    room = np.array([frame.candidate_swaps for frame in frames])
    most = np.array([[demand.repeats[code] * demand.is_available(code, first_block + b) for b in range(len(frames))]
                     for code in range(1, k + 1)])
    if (room >= most.sum(axis=0)).all():
        N = most
    else:
        balanced = _balanced(demand, room, most) if known is None else None
        N = balanced if balanced is not None else _searched(demand, frames, room, most, known, hung, report)
    _check_all_hang(demand, N, room, hung)
    return tuple(tuple(code + 1 for code in range(k) for _ in range(N[code, b])) for b in range(len(frames)))


def _check_blocks_have_candidates(demand: Demand, blocks: int, first: int) -> None:
    """Refuse blocks in which only the reference could hang."""
    codes = range(1, len(demand.names))
    empty = [str(b) for b in range(first, first + blocks) if not any(demand.is_available(c, b) for c in codes)]
    if empty:
        raise OrderError(Fault("no candidate is available in a block", "plan, keys candidates.available_in_blocks",
                               f"block(s) {', '.join(empty)}", do="Plan fewer blocks, or name a candidate for each."))


def _balanced(demand: Demand, room: NDArray[np.intp], most: NDArray[np.intp]) -> NDArray[np.intp] | None:
    """Return a balanced incomplete block design with names and blocks in random order, where one is found."""
    k, blocks = most.shape
    if len(set(room.tolist())) > 1 or len(set(demand.repeats[1:])) > 1 or (most != most[0, 0]).any():
        return None
    found = balanced_blocks(k, int(room[0]), blocks)
    if found is None:
        return None
    rng = np.random.default_rng([demand.seed, BLOCKS])
    N = np.zeros((k, blocks), np.intp)
    for column, block in enumerate(found):
        N[list(block), column] = 1
    return N[rng.permutation(k)][:, rng.permutation(blocks)]


def _searched(
    demand: Demand,
    frames: Sequence[BlockFrame],
    room: NDArray[np.intp],
    most: NDArray[np.intp],
    known: NDArray[np.float64] | None,
    hung: NDArray[np.intp] | None,
    report: Callable[[float], None] | None,
) -> NDArray[np.intp]:
    """Return the best filling that the exchange search finds."""
    k, blocks = most.shape
    wanted = BlockDemand(
        room=room,
        references=np.array([frame.swaps - frame.candidate_swaps for frame in frames]),
        most=most,
        weights=np.array(demand.repeats[1:], float),
        asked=contrast_rows(demand.asked, k + 1),
        known=np.zeros((k, k)) if known is None else known,
        hung=np.zeros(k, np.intp) if hung is None else hung,
    )
    # many starts where a climb is cheap; a large case has many near-equal ends and one start is near the best
    starts = int(np.clip(4000 // (k * blocks), 2, 20))
    return search(wanted, np.random.default_rng([demand.seed, BLOCKS]), starts, report)


def _check_all_hang(demand: Demand, N: NDArray[np.intp], room: NDArray[np.intp], hung: NDArray[np.intp] | None) -> None:
    """Refuse blocks in which some candidate never hangs."""
    total = N.sum(axis=1) + (0 if hung is None else hung)
    never = [demand.names[code + 1] for code in np.flatnonzero(total == 0)]
    if not never:
        return
    raise OrderError(
        Fault(
            "the blocks are too small or too few to hang every candidate",
            "plan, section field",
            f"room for {int(room.sum())} candidate swaps in {len(room)} block(s) and {demand.candidates} candidates; "
            f"never hung: {', '.join(never)}",
            f"at least {demand.candidates} candidate swaps, better three times as many",
            "Plan more or larger blocks (field.block_minutes, field.hours), or fewer candidates.",
        )
    )
