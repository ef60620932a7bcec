"""The slots of a day: what stands fixed in them and what is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from antexp.design.allocation import Contents
from antexp.design.day import BlockFrame
from antexp.design.demand import Demand
from antexp.design.information import Slots
from antexp.design.places import slot_places, split_by_place
from antexp.design.recipe import Recipe
from antexp.design.reference_slots import reference_positions

# A parabola needs six swaps of two wires to leave something to judge by; shorter blocks are selected by their own form.
_CURVED_FROM = 6


@dataclass(frozen=True)
class Hung:
    """Swaps that hang already and do not change, in time order.

    Attributes
    ----------
    swap : tuple of int
    block : tuple of str
        As the record names it.
    minutes : tuple of float, minutes
    code : tuple of int
        Place of the candidate in the demand's names.
    specimen, place : tuple of str
        As the record names them.
    goes_on : bool
        Whether the last block goes on, or a new one begins.
    last_swap : int
        The highest swap number in use.
    """

    swap: tuple[int, ...] = ()
    block: tuple[str, ...] = ()
    minutes: tuple[float, ...] = ()
    code: tuple[int, ...] = ()
    specimen: tuple[str, ...] = ()
    place: tuple[str, ...] = ()
    goes_on: bool = False
    last_swap: int = 0

    def __len__(self) -> int:
        """Return the number of swaps."""
        return len(self.swap)

    @property
    def blocks(self) -> tuple[str, ...]:
        """Return the blocks in the order they were begun."""
        return tuple(dict.fromkeys(self.block))


def shrink_to_contents(frames: Sequence[BlockFrame], contents: Contents) -> tuple[BlockFrame, ...]:
    """Shorten the blocks in which fewer candidates are available than there is room for."""
    return tuple(
        frame if len(own) == frame.candidate_swaps else replace(
            frame, swaps=len(own) + len(frame.references),
            references=reference_positions(len(own) + len(frame.references), len(frame.references)))
        for frame, own in zip(frames, contents, strict=True)
    )


def recipe_of(demand: Demand, frames: Sequence[BlockFrame], contents: Contents, hung: Hung | None = None) -> Recipe:
    """Lay out the slots of the day and what is drawn into them.

    Parameters
    ----------
    demand : Demand
    frames : sequence of BlockFrame
        Blocks still to come.
    contents : tuple of tuple of int
        Their candidates.
    hung : Hung, optional
        What hangs already.

    Returns
    -------
    Recipe
        Without rules and threshold, which `antexp.design.randomisation.select` finds.
    """
    hung = hung or Hung()
    done = [hung.blocks.index(label) for label in hung.block]
    first = len(hung.blocks) - hung.goes_on
    block = done + [first + b for b, frame in enumerate(frames) for _ in range(frame.swaps)]
    fixed = list(hung.code) + [0 if s in f.references else -1 for f in frames for s in range(f.swaps)]
    minutes = list(hung.minutes)
    for b, frame in enumerate(frames):
        begin = hung.minutes[-1] + demand.minutes_per_swap if hung.goes_on and b == 0 else 0.0
        minutes += [begin + s * demand.minutes_per_swap for s in range(frame.swaps)]
    own = slot_places([frame.swaps for frame in frames], demand.places, first)
    place = [_index(label, demand.places) for label in hung.place] + [p for places in own for p in places]
    return Recipe(
        names=demand.names,
        compare=demand.compare,
        drift=_selecting_drift(demand, frames),
        walk_variance=(demand.wander_db_per_sqrt_hour / demand.swap_sd_db) ** 2 if demand.swap_sd_db > 0 else 0.0,
        specimens=demand.specimens,
        places=demand.places,
        block=tuple(block),
        place=tuple(place),
        minutes=tuple(float(m) for m in minutes),
        fixed=tuple(fixed),
        fixed_specimens=_specimens(hung) + (-1,) * (len(block) - len(hung)),
        labels=_labels(demand, block, minutes, place, fixed, first, frames, contents),
        classes=() if len(hung) else _classes(demand),
        rules=(),
        reference_every=demand.reference_every,
        seed=demand.seed,
    )


def _labels(
    demand: Demand, block: list[int], minutes: list[float], place: list[int], fixed: list[int], first: int,
    frames: Sequence[BlockFrame], contents: Contents,
) -> tuple[int, ...]:
    """Return the codes to be drawn, in time order; with several places, split over them."""
    drawn = [(*codes, *(0,) * frame.free_references) for frame, codes in zip(frames, contents, strict=True)]
    if demand.places == 1:
        return tuple(code for codes in drawn for code in codes)
    slots = Slots(np.array(block), np.array(minutes, float), np.array(place))
    codes = split_by_place(slots, np.array(fixed), [*((),) * first, *drawn], len(demand.names), demand.places,
                           demand.asked, demand.seed)
    return tuple(int(code) for code in codes)


def _selecting_drift(demand: Demand, frames: Sequence[BlockFrame]) -> str:
    """Return the form of drift that selects: two wires are to stand a parabola too."""
    two = demand.candidates == 1 and demand.drift in ("none", "steady")
    return "curved" if two and frames and min(frame.swaps for frame in frames) >= _CURVED_FROM else demand.drift


def _classes(demand: Demand) -> tuple[tuple[int, ...], ...]:
    """Group the candidates that may trade names: equal repeats, specimens and availability."""
    groups: dict[Any, list[int]] = {}
    for code in range(1, demand.candidates + 1):
        alike = (demand.repeats[code], demand.specimens[code], demand.available[code])
        groups.setdefault(alike, []).append(code)
    return tuple(tuple(group) for group in groups.values())


def _specimens(hung: Hung) -> tuple[int, ...]:
    """Give numbers to the specimens that hang already within their candidate; labels 1, 2 … keep their number."""
    seen: dict[int, list[str]] = {}
    numbers = []
    for code, label in zip(hung.code, hung.specimen, strict=True):
        own = seen.setdefault(code, [])
        if label not in own:
            own.append(label)
        numbers.append(int(label) - 1 if label.isdecimal() and 0 < int(label) < 100 else own.index(label))
    return tuple(numbers)


def _index(label: str, places: int) -> int:
    """Return a place's number; a label of the user's own counts as the first."""
    return int(label) - 1 if label.isdecimal() and 0 < int(label) <= places else 0
