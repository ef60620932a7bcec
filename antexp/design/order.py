"""Which antenna hangs when: from a plan to a fair, reproducible swap order."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from antexp.design.allocation import allocate
from antexp.design.check_words import check_words
from antexp.design.day import BlockFrame, lay_out_day
from antexp.design.demand import Demand, demand_of
from antexp.design.order_document import Order
from antexp.design.precision import gap_precisions, precision_kept
from antexp.design.randomisation import Drawn, Progress, select
from antexp.design.recipe import Recipe

_WORD_STREAM = 4

# A parabola needs six swaps of two wires to leave something to judge by; shorter blocks are selected by their own form.
_CURVED_FROM = 6


def make_order(
    plan: Any, *, blocks: int | None = None, seed: int | None = None, progress: Progress | None = None
) -> Order:
    """Make the swap order of a plan.

    Parameters
    ----------
    plan : Plan
        As `antexp.read_plan` returns it.
    blocks, seed : int, optional
        In place of the plan's own.
    progress : callable, optional
        Called with the share done, 0 … 1, and what is being done.

    Returns
    -------
    Order
        The same plan and seed give the same order, byte for byte.

    Raises
    ------
    OrderError
        When the plan leaves no order that can be judged; the message says what would fit.
    """
    demand = demand_of(plan, blocks=blocks, seed=seed)
    frames = lay_out_day(demand)
    recipe = _recipe(demand, frames, allocate(demand, frames))
    recipe, drawn = select(recipe, progress)
    table = _table(demand, recipe, drawn)
    return Order(
        table=table,
        seed=demand.seed,
        recipe=recipe.to_dict(),
        precision_kept=precision_kept(table, demand),
        gaps=gap_precisions(table, demand),
        notices=(),
        minutes_per_swap=demand.minutes_per_swap,
        block_starts=tuple(frame.start_minute for frame in frames),
        plan_sha256=getattr(plan, "sha256", None),
    )


def _recipe(demand: Demand, frames: tuple[BlockFrame, ...], contents: tuple[tuple[int, ...], ...]) -> Recipe:
    """Lay out the slots of the day and what is drawn into them."""
    block = [b for b, frame in enumerate(frames) for _ in range(frame.swaps)]
    position = [s for frame in frames for s in range(frame.swaps)]
    fixed = [0 if s in frame.references else -1 for frame in frames for s in range(frame.swaps)]
    labels: list[int] = []
    for frame, own in zip(frames, contents, strict=True):
        labels += [*own, *(0,) * frame.free_references]
    two = demand.candidates == 1
    return Recipe(
        names=demand.names,
        compare=demand.compare,
        drift="curved" if two and min(f.swaps for f in frames) >= _CURVED_FROM else demand.drift,
        walk_variance=(demand.wander_db_per_sqrt_hour / demand.swap_sd_db) ** 2,
        specimens=demand.specimens,
        places=1,
        block=tuple(block),
        place=(0,) * len(block),
        minutes=tuple(float(s * demand.minutes_per_swap) for s in position),
        fixed=tuple(fixed),
        fixed_specimens=(-1,) * len(block),
        labels=tuple(labels),
        classes=_classes(demand),
        rules=(),
        reference_every=demand.reference_every,
        seed=demand.seed,
    )


def _classes(demand: Demand) -> tuple[tuple[int, ...], ...]:
    """Group the candidates that may trade names: equal repeats, specimens and availability."""
    groups: dict[Any, list[int]] = {}
    for code in range(1, demand.candidates + 1):
        alike = (demand.repeats[code], demand.specimens[code], demand.available[code])
        groups.setdefault(alike, []).append(code)
    return tuple(tuple(group) for group in groups.values())


def _table(demand: Demand, recipe: Recipe, drawn: Drawn) -> pd.DataFrame:
    """Write the order as the order file's columns, one row a swap."""
    block = np.array(recipe.block)
    position = np.concatenate([np.arange(1, n + 1) for n in np.bincount(block)])
    codes = drawn.labels[0]
    return pd.DataFrame(
        {
            "swap": np.arange(1, len(block) + 1),
            "block": [str(b + 1) for b in block],
            "position": position,
            "minutes": np.array(recipe.minutes, float),
            "word": check_words(len(block), np.random.default_rng([demand.seed, _WORD_STREAM])),
            "candidate": [recipe.names[code] for code in codes],
            "specimen": [str(s + 1) for s in drawn.specimens[0]],
            "place": [str(p + 1) for p in recipe.place],
            "role": ["reference" if code == 0 else "candidate" for code in codes],
        }
    )
