"""How many blocks reach the wanted chance, for a plan that limits neither blocks nor hours."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from antexp.design.allocation import allocate
from antexp.design.day import lay_out_day
from antexp.design.demand import Demand
from antexp.design.layout import recipe_of, shrink_to_contents
from antexp.design.precision import gap_precisions
from antexp.design.randomisation import one_draw
from antexp.design.recipe import Recipe
from antexp.errors import Fault, OrderError
from antexp.plan.words import MOST_BLOCKS


def enough_blocks(demand: Demand, matter_db: float | None) -> Demand:
    """Return the demand with the smallest number of blocks that notices a gap of matter_db with the wanted chance.

    Parameters
    ----------
    demand : Demand
        With neither blocks nor hours nor sittings.
    matter_db : float or None, dB

    Returns
    -------
    Demand
        With `blocks` set.

    Raises
    ------
    OrderError
        When nothing limits the day, or no number of blocks up to 200 is enough.
    """
    if matter_db is None:
        raise OrderError(Fault("nothing says how long the day is", "plan, section field", "",
                               "field.blocks, field.hours, field.sittings, or question.matter_db",
                               "State one of them: the time there is, or the gap that matters."))
    low, high = 1, 2  # the chance grows with the blocks: double, then halve
    while not _is_enough(demand, high, matter_db):
        low, high = high, high * 2
        if high > MOST_BLOCKS:
            raise OrderError(Fault("no number of blocks reaches the wanted chance", "plan, key question.matter_db",
                                   f"{matter_db:g} dB", f"up to {MOST_BLOCKS} blocks",
                                   "A larger matter_db, a smaller re-hanging scatter or fewer candidates would."))
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _is_enough(demand, middle, matter_db) else (middle, high)
    return replace(demand, blocks=high)


def _is_enough(demand: Demand, blocks: int, matter_db: float) -> bool:
    """Tell whether so many blocks notice the gap; a number that cannot be judged at all does not."""
    trial = replace(demand, blocks=blocks)
    try:
        frames = lay_out_day(trial)
        contents = allocate(trial, frames)
        recipe = recipe_of(trial, shrink_to_contents(frames, contents), contents)
        gaps = gap_precisions(_plain_table(recipe), trial)
    except OrderError:
        return False
    return all(gap.detectable_db <= matter_db for gap in gaps)


def _plain_table(recipe: Recipe) -> pd.DataFrame:
    """Return the columns that the precision needs for one draw, one specimen each."""
    return pd.DataFrame({
        "candidate": [recipe.names[code] for code in one_draw(recipe)],
        "block": [str(b) for b in recipe.block],
        "minutes": np.array(recipe.minutes, float),
        "specimen": "1",
        "place": [str(p) for p in recipe.place],
    })
