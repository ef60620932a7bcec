"""The day as blocks: how many, how long, when, and which of their swaps are the reference."""

from __future__ import annotations

import math
from dataclasses import dataclass

from antexp.design.demand import Demand
from antexp.design.reference_slots import reference_positions, references_asked, split_block
from antexp.errors import Fault, OrderError

# Two wires alone have no complete block shorter than the day; eight swaps carry a line or a parabola and leave
# enough to judge by, and about an hour between breaks is what people keep up.
TWO_WIRE_SWAPS = 8

_ROUNDING = 1e-9  # minutes and hours are typed in decimal: 7.2 × 10 swaps must fit into 72 minutes


@dataclass(frozen=True)
class BlockFrame:
    """One block before anything hangs in it.

    Attributes
    ----------
    swaps : int
        Swaps of the block.
    references : tuple of int
        Zero-based positions of the reference swaps that stand fixed.
    free_references : int
        Reference swaps whose position is drawn (two wires only).
    sitting : int or None
        Zero-based sitting that holds the block.
    start_minute : float or None
        Clock time of the first swap in minutes after midnight; None without sittings.
    """

    swaps: int
    references: tuple[int, ...]
    free_references: int = 0
    sitting: int | None = None
    start_minute: float | None = None

    @property
    def candidate_swaps(self) -> int:
        """Return how many swaps are left for the candidates."""
        return self.swaps - len(self.references) - self.free_references


def lay_out_day(demand: Demand) -> tuple[BlockFrame, ...]:
    """Cut the day into blocks.

    Returns
    -------
    tuple of BlockFrame
        Complete blocks where a block can hold every candidate and its reference swaps, else blocks as large as they
        may be. Without a number of blocks, as many as fit.

    Raises
    ------
    OrderError
        When a block holds no more than one swap, the time holds no block, or fewer blocks than the plan wants.
    """
    largest = _largest_block(demand)
    wanted = _wanted_swaps(demand)
    swaps = min(largest, wanted) if largest is not None else wanted
    lengths, sittings = _fill(demand, swaps)
    starts = _clock(demand, lengths, sittings)
    return tuple(
        _frame(demand, length, index, sitting, start)
        for index, (length, sitting, start) in enumerate(zip(lengths, sittings, starts, strict=True))
    )


def complete_block_swaps(demand: Demand) -> int:
    """Return the swaps of a complete block: every candidate and the reference swaps among them."""
    hangings = demand.hangings
    return hangings + references_asked(hangings, demand.candidates, demand.reference_every, demand.compare)


def _wanted_swaps(demand: Demand) -> int:
    """Return the swaps a block should have where nothing limits it."""
    if demand.candidates > 1:
        return complete_block_swaps(demand)
    if demand.blocks and demand.hours is not None:
        return max(3, min(TWO_WIRE_SWAPS, _swaps_in(demand.hours * 60, demand) // demand.blocks))
    return TWO_WIRE_SWAPS


def _largest_block(demand: Demand) -> int | None:
    """Return the most swaps a block may have; None when only the day limits it."""
    limits = []
    if demand.block_minutes is not None:
        limits.append(_swaps_in(demand.block_minutes, demand))
    if demand.sittings:
        limits.append(max(_swaps_in(sitting.minutes, demand) for sitting in demand.sittings))
    if not limits:
        return None
    if min(limits) < 2:
        raise OrderError(
            Fault(
                "a block holds no more than one swap",
                "plan, keys field.block_minutes and field.minutes_per_swap",
                f"{min(limits)} swap(s) of {demand.minutes_per_swap:g} min in a block",
                "at least 2 swaps, better 5 or more",
                f"A complete block of this plan takes {_duration(complete_block_swaps(demand), demand)}.",
            )
        )
    return min(limits)


def _fill(demand: Demand, swaps: int) -> tuple[list[int], list[int | None]]:
    """Return the length and the sitting of each block, in time order."""
    if demand.sittings:
        lengths, sittings = _fill_sittings(demand, swaps)
        wanted = len(lengths) if demand.blocks is None else demand.blocks
        if len(lengths) < max(1, wanted):
            raise _too_little_time(demand, swaps, len(lengths))
        return lengths[:wanted], sittings[:wanted]
    fit = None if demand.hours is None else _swaps_in(demand.hours * 60, demand) // swaps
    if fit == 0 and demand.blocks is None and demand.candidates == 1:
        swaps = _swaps_in((demand.hours or 0) * 60, demand)  # two wires: one short block is better than none
        fit = 1 if swaps >= 2 else 0
    blocks = demand.blocks if demand.blocks is not None else fit
    if blocks is None:
        raise OrderError(Fault("the plan states neither blocks nor hours", "plan, section field",
                               do="State how many blocks, or how many hours of swapping."))
    if blocks < 1 or (fit is not None and blocks > fit):
        raise _too_little_time(demand, swaps, fit or 0)
    return [swaps] * blocks, [None] * blocks


def _fill_sittings(demand: Demand, swaps: int) -> tuple[list[int], list[int | None]]:
    """Cut every sitting into blocks; what is left of it makes a shorter block where no whole one fits."""
    lengths: list[int] = []
    sittings: list[int | None] = []
    for index, sitting in enumerate(demand.sittings):
        room = _swaps_in(sitting.minutes, demand)
        cut = [swaps] * (room // swaps) or ([room] if room >= 3 else [])
        lengths += cut
        sittings += [index] * len(cut)
    return lengths, sittings


def _clock(demand: Demand, lengths: list[int], sittings: list[int | None]) -> list[float | None]:
    """Return each block's start on the clock: blocks of a sitting share its spare time as breaks between them."""
    starts: list[float | None] = []
    for index, sitting in enumerate(sittings):
        if sitting is None:
            starts.append(None)
            continue
        own = [i for i, other in enumerate(sittings) if other == sitting]
        times = demand.sittings[sitting]
        spare = times.minutes - sum(lengths[i] for i in own) * demand.minutes_per_swap
        pause = math.floor(spare / (len(own) - 1)) if len(own) > 1 else 0
        before = [i for i in own if i < index]
        gone = sum(lengths[i] for i in before) * demand.minutes_per_swap + len(before) * min(pause, 15)
        starts.append(times.start_minute + gone)
    return starts


def _frame(demand: Demand, swaps: int, index: int, sitting: int | None, start: float | None) -> BlockFrame:
    """Give a block its reference swaps."""
    if demand.candidates == 1:
        if swaps == 2:
            return BlockFrame(2, (index % 2,), 0, sitting, start)
        references = max((swaps + 1) // 2, references_for_two(swaps, demand.reference_every))
        return BlockFrame(swaps, (0, swaps - 1), references - 2, sitting, start)
    references = references_asked(demand.hangings, demand.candidates, demand.reference_every, demand.compare)
    if swaps < demand.hangings + references:
        references = split_block(swaps, demand.candidates, demand.reference_every, demand.compare)
        if demand.reference_every is None and swaps >= demand.hangings + 2:
            references = max(2, swaps - demand.hangings)  # complete, with as many references as the block still holds
    # with two swaps there is no room for a line, so the reference takes turns at going first
    positions = (index % 2,) if swaps == 2 else reference_positions(swaps, references)
    return BlockFrame(swaps, positions, 0, sitting, start)


def references_for_two(swaps: int, reference_every: int | None) -> int:
    """Return the fewest reference swaps that leave no longer stretch of the other wire than allowed."""
    if reference_every is None:
        return 2
    return max(2, math.ceil((swaps - 1) / reference_every) + 1)


def _swaps_in(minutes: float, demand: Demand) -> int:
    """Return how many whole swaps fit."""
    return math.floor(minutes / demand.minutes_per_swap + _ROUNDING)


def _duration(swaps: int, demand: Demand) -> str:
    """Return swaps as words: ``10 swaps, 70 min``."""
    return f"{swaps} swaps, {swaps * demand.minutes_per_swap:g} min"


def _too_little_time(demand: Demand, swaps: int, fit: int) -> OrderError:
    """Say that the time is too short, and what would fit."""
    minutes = swaps * demand.minutes_per_swap
    if demand.sittings:
        where, got = "plan, keys field.sittings and field.blocks", ", ".join(str(s) for s in demand.sittings)
        room = max(_swaps_in(s.minutes, demand) for s in demand.sittings)
    else:
        where, got = "plan, keys field.hours and field.blocks", f"{demand.hours:g} h"
        room = _swaps_in((demand.hours or 0) * 60, demand)
    blocks = demand.blocks or 1
    do = f"{fit} block(s) fit" if fit else "No block fits"
    if not fit and room >= 4:
        do += f"; {room} swaps fit at most, enough for {max(1, room - 2)} candidate(s) between two reference swaps"
    need = blocks * minutes / 60
    return OrderError(
        Fault(
            "the blocks do not fit into the time",
            where,
            f"{blocks} block(s) of {_duration(swaps, demand)} in {got}",
            f"at least {need:.2f} h",
            f"{do}. Give it {need:.2f} h, fewer blocks, fewer candidates, or shorter blocks (field.block_minutes).",
        )
    )
