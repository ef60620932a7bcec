"""A simulated day: readings as the meter would have shown them, with the truth written on the back."""

from __future__ import annotations

import os
from collections.abc import Mapping
from typing import Any, Unpack

import numpy as np
import pandas as pd

from antexp.design.order_document import Order
from antexp.errors import RepeatsError, seed_faults
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.repeats.draws import Drawn, draw_records, reading_minutes, specimen_codes
from antexp.repeats.layout import Layout, layout_of
from antexp.repeats.world import Path, World, WorldKeywords, world_of


def simulate(
    plan: str | os.PathLike[str] | Plan,
    order: str | os.PathLike[str] | Order | pd.DataFrame,
    gaps_db: Mapping[str, float] | None = None,
    *,
    seed: int = 1,
    path_db: Path | None = None,
    **world: Unpack[WorldKeywords],
) -> pd.DataFrame:
    """Simulate the readings of a day.

    Parameters
    ----------
    plan : path or Plan
        Gives the spreads, the drift, the meter and the number of readings.
    order : path, Order or DataFrame
        What hangs when.
    gaps_db : mapping of str to float, optional, dB
        True level of candidates above the reference; those left out have gap 0.
    seed : int
        The same seed gives the same readings.
    path_db : callable, optional
        Takes hours since the first swap of the day (an array) and returns dB: a path of your own, a tide or a
        battery that gives way. Drift, wander and steps between blocks are then 0 unless named.
    **world
        Any field of `antexp.repeats.world.World` in place of the plan's: ``rehang_sd_db``, ``reading_sd_db``,
        ``specimen_sd_db``, ``specimens_db``, ``place_sd_db``, ``block_sd_db``, ``drift_db_per_hour``,
        ``slopes_db_per_hour``, ``wander_db_per_sqrt_hour``, ``base_db``, ``step_db``, ``readings``,
        ``reading_gap_minutes``, ``break_minutes``, ``missing_share``, ``centre_specimens``.

    Returns
    -------
    DataFrame, one row a reading
        ``swap, block, candidate, specimen, place, reading, minutes, level_db`` as in a readings file, the level on
        the plan's scale. ``attrs["truth"]`` holds what was drawn: see `truth_of`.

    Raises
    ------
    FileError, PlanError, OrderError
        When a file is at fault.
    RepeatsError
        When a name or a value is impossible, or the order does not fit.
    """
    if faults := seed_faults(seed):
        raise RepeatsError(faults)
    the_plan = as_plan(plan)
    the_world = world_of(the_plan, gaps_db, path_db=path_db, **world)
    layout = layout_of(order, the_plan.field.minutes_per_swap, the_world.break_minutes)
    random = np.random.default_rng(seed)
    drawn = draw_records(layout, the_world, random, 1)
    done = random.random(len(layout)) >= the_world.missing_share
    table = readings_table(layout, the_world, drawn, 0, the_plan.meter.scale)
    table = table[np.repeat(done, the_world.readings)].reset_index(drop=True)
    table.attrs["truth"] = {**truth_of(layout, the_world, drawn, 0), "seed": seed,
                            "missing_swaps": layout.swap[~done].tolist()}
    return table


def readings_table(layout: Layout, world: World, drawn: Drawn, record: int, scale: str) -> pd.DataFrame:
    """Write one drawn record in the columns of a readings file."""
    each = np.repeat(np.arange(len(layout)), world.readings)
    level = drawn.level_db[:, :, record].ravel()
    if world.step_db is not None:
        level = np.round(level, 6)  # a display shows no digits of binary fractions
    return pd.DataFrame(
        {
            "swap": layout.swap[each],
            "block": layout.block[each],
            "candidate": layout.candidate[each],
            "specimen": layout.specimen[each],
            "place": layout.place[each],
            "reading": np.tile(np.arange(1, world.readings + 1), len(layout)),
            "minutes": reading_minutes(layout, world).ravel(),
            "level_db": -level if scale == "minus dBm" else level,
        }
    )


def truth_of(layout: Layout, world: World, drawn: Drawn, record: int) -> dict[str, Any]:
    """Return what is true in one drawn record, in plain Python types.

    Returns
    -------
    dict
        ``gaps_db`` of the candidates in general; ``levels_these_specimens_db`` of the specimens that hung, whose
        differences are the gaps of these very specimens; ``specimens_db``, ``places_db``, ``blocks_db``,
        ``slopes_db_per_hour``, ``swaps_db`` and ``walk_db`` by label;
        and the spreads that were drawn from.
    """
    pairs = specimen_codes(layout)[1]
    specimens = dict(zip(pairs, drawn.specimen_db[:, record].tolist(), strict=True))
    means = {
        name: float(np.mean([value for (owner, _), value in specimens.items() if owner == name]))
        for name in dict.fromkeys(layout.candidate)
    }
    levels = {name: world.gaps_db[name] + means[name] for name in means}
    return {
        "gaps_db": dict(world.gaps_db),
        "levels_these_specimens_db": levels,
        "specimens_db": {f"{name} / {label}": value for (name, label), value in specimens.items()},
        "places_db": _by_label(layout.place, drawn.place_db[:, record]),
        "blocks_db": _by_label(layout.block, drawn.block_db[:, record]),
        "slopes_db_per_hour": _by_label(layout.block, drawn.slope_db_per_hour[:, record]),
        "swaps_db": dict(zip(layout.swap.tolist(), drawn.swap_db[:, record].tolist(), strict=True)),
        "walk_db": dict(zip(layout.swap.tolist(), drawn.walk_db[:, record].tolist(), strict=True)),
        "rehang_sd_db": world.rehang_sd_db,
        "reading_sd_db": world.reading_sd_db,
        "specimen_sd_db": world.specimen_sd_db,
        "wander_db_per_sqrt_hour": world.wander_db_per_sqrt_hour,
        "step_db": world.step_db,
    }


def _by_label(labels: np.ndarray, values: np.ndarray) -> dict[str, float]:
    """Pair labels in order of first mention with what was drawn for them."""
    return dict(zip(dict.fromkeys(labels), values.tolist(), strict=True))
