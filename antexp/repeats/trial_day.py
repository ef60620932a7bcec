"""A day as the order maker would lay it out, drawn quickly, for weighing many days against each other."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from antexp.design.allocation import allocate
from antexp.design.day import lay_out_day
from antexp.design.demand import Demand, demand_of
from antexp.design.information import contrast_rows, drift_filter, information, mean_variance
from antexp.design.layout import recipe_of, shrink_to_contents
from antexp.design.randomisation import one_draw
from antexp.design.recipe import Recipe
from antexp.design.specimen_turns import specimen_turns, specimens_apart
from antexp.errors import OrderError
from antexp.plan.model import Plan

# The order maker keeps a draw among the best tenth of its set; the second best of sixteen is such a draw.
_DRAWS = 16
_KEPT = 1


@dataclass(frozen=True)
class TrialDay:
    """A day for weighing.

    Attributes
    ----------
    table : DataFrame
        One row a swap: ``swap, block, minutes, candidate, specimen, place``.
    blocks, swaps : int
        How many.
    hours : float
        Of swapping, breaks not counted.
    block_starts : tuple of (float or None)
        Clock time of each block's first swap in minutes after midnight, where the plan has sittings that hold it.
    """

    table: pd.DataFrame
    blocks: int
    swaps: int
    hours: float
    block_starts: tuple[float | None, ...]


def trial_day(plan: Plan, blocks: int | None = None) -> TrialDay:
    """Lay out a day and draw an order for it.

    Parameters
    ----------
    plan : Plan
        What is compared, and how long a swap and a block last.
    blocks : int, optional
        How many blocks, whether or not the plan's hours hold them; left out: as many as the plan has room for.

    Returns
    -------
    TrialDay
        With the layout of `antexp.make_order` and an order about as good as it would keep.

    Raises
    ------
    OrderError
        When the plan leaves no such day.
    """
    demand = demand_of(plan, blocks=blocks)
    try:
        frames = lay_out_day(demand)
    except OrderError:
        if blocks is None:
            raise
        demand = _without_hours(demand)
        frames = lay_out_day(demand)
    contents = allocate(demand, frames)
    frames = shrink_to_contents(frames, contents)
    recipe = recipe_of(demand, frames, contents)
    table = _table(recipe, _good_draw(recipe))
    return TrialDay(table, len(frames), len(table), len(table) * demand.minutes_per_swap / 60.0,
                    tuple(frame.start_minute for frame in frames))


def _without_hours(demand: Demand) -> Demand:
    """Lift the limit of hours; blocks stay as short as the sittings make them."""
    longest = max((sitting.minutes for sitting in demand.sittings), default=None)
    limits = [limit for limit in (demand.block_minutes, longest) if limit is not None]
    return replace(demand, hours=None, sittings=(), block_minutes=min(limits) if limits else None)


def _good_draw(recipe: Recipe) -> np.ndarray:
    """Return the codes of a draw among the best of a few."""
    labels = np.stack([one_draw(replace(recipe, seed=recipe.seed + i)) for i in range(_DRAWS)])
    sweep = drift_filter(recipe.slots, recipe.drift, recipe.walk_variance)
    matrices = information(labels, len(recipe.names), recipe.slots, sweep, recipe.places)
    variances = mean_variance(matrices, contrast_rows(recipe.asked, len(recipe.names), recipe.places))
    apart = specimens_apart(recipe, labels, specimen_turns(recipe, labels), sweep)
    variances = np.where(apart, variances, np.inf)
    return labels[np.argsort(variances, kind="stable")[_KEPT]]


def _table(recipe: Recipe, codes: np.ndarray) -> pd.DataFrame:
    """Write the draw as one row a swap."""
    return pd.DataFrame({
        "swap": np.arange(1, len(codes) + 1),
        "block": [str(b + 1) for b in recipe.block],
        "minutes": np.array(recipe.minutes, float),
        "candidate": [recipe.names[code] for code in codes],
        "specimen": [str(s + 1) for s in specimen_turns(recipe, codes[None])[0]],
        "place": [str(p + 1) for p in recipe.place],
    })
