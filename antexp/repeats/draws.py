"""Drawing records: the levels of many records of one layout at once (M1 with its scatters)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.errors import Fault, RepeatsError
from antexp.repeats.layout import Layout
from antexp.repeats.world import World

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Drawn:
    """Records of one layout and what was drawn for them.

    Attributes
    ----------
    level_db : ndarray, shape (n_swaps, readings, N), dB
        Levels as displayed.
    block_db, slope_db_per_hour : ndarray, shape (blocks, N)
        Level and slope of each block.
    specimen_db : ndarray, shape (specimens, N), dB
        Deviation of each specimen.
    place_db : ndarray, shape (places, N), dB
        Deviation of each place.
    swap_db : ndarray, shape (n_swaps, N), dB
        Deviation of each hanging.
    walk_db : ndarray, shape (n_swaps, N), dB
        Where the wandering path stood at each swap.
    """

    level_db: Floats
    block_db: Floats
    slope_db_per_hour: Floats
    specimen_db: Floats
    place_db: Floats
    swap_db: Floats
    walk_db: Floats


def draw_records(layout: Layout, world: World, random: np.random.Generator, records: int) -> Drawn:
    """Draw records of a layout.

    Parameters
    ----------
    layout : Layout
        The swaps.
    world : World
        The truth; its `missing_share` is not applied here.
    random : numpy Generator
        All randomness comes from it, in a fixed sequence.
    records : int
        N.
    """
    block, blocks = pd.factorize(layout.block)
    specimen, specimens = specimen_codes(layout)
    place, places = pd.factorize(layout.place)
    drawn_blocks = world.block_sd_db * random.standard_normal((len(blocks), records))
    slopes = _slopes(world, len(blocks), random, records)
    drawn_specimens = _specimens(world, specimens, random, records)
    drawn_places = world.place_sd_db * random.standard_normal((len(places), records))
    walk = _walk(layout, block, world, random, records)
    swap = world.rehang_sd_db * random.standard_normal((len(layout), records))
    gaps = np.array([world.gaps_db[name] for name in layout.candidate])
    still = drawn_blocks[block] + drawn_specimens[specimen] + drawn_places[place] + swap + walk
    still += (world.base_db + gaps)[:, None]
    level = world.reading_sd_db * random.standard_normal((len(layout), world.readings, records))
    level += still[:, None, :]
    level += _moving(layout, block, world, slopes)
    if world.step_db is not None:
        level = np.round(level / world.step_db) * world.step_db
    return Drawn(level, drawn_blocks, slopes, drawn_specimens, drawn_places, swap, walk)


def specimen_codes(layout: Layout) -> tuple[NDArray[np.intp], list[tuple[str, str]]]:
    """Give each specimen a number; it is named within its candidate."""
    pairs = list(zip(layout.candidate, layout.specimen, strict=True))
    names = list(dict.fromkeys(pairs))
    number = {pair: i for i, pair in enumerate(names)}
    return np.array([number[pair] for pair in pairs], dtype=np.intp), names


def reading_minutes(layout: Layout, world: World) -> Floats:
    """Return the minutes of every reading within its block, shape (n_swaps, readings)."""
    return layout.minutes[:, None] + world.reading_gap_minutes * np.arange(world.readings)


def _moving(layout: Layout, block: NDArray[np.intp], world: World, slopes: Floats) -> Floats:
    """Return drift and fixed path at each reading's own time, shape (n_swaps, readings, N)."""
    since = world.reading_gap_minutes * np.arange(world.readings) / 60.0
    middle = np.array([_middle(layout.minutes[block == b]) for b in range(len(slopes))])
    hours = (layout.minutes - middle[block])[:, None] / 60.0 + since
    moving = hours[:, :, None] * slopes[block][:, None, :]
    if world.path_db is not None:
        moving = moving + _path(world, layout.hours[:, None] + since)[:, :, None]
    return moving


def _middle(minutes: Floats) -> float:
    """Return the middle of a block."""
    return float(minutes.min() + minutes.max()) / 2.0


def _slopes(world: World, blocks: int, random: np.random.Generator, records: int) -> Floats:
    """Return the slope of each block in each record, dB per hour."""
    if world.slopes_db_per_hour is None:
        return world.drift_db_per_hour * random.standard_normal((blocks, records))
    if len(world.slopes_db_per_hour) != blocks:
        raise RepeatsError(Fault("slopes_db_per_hour does not fit the order",
                                 got=f"{len(world.slopes_db_per_hour)} slopes", allowed=f"{blocks}, one a block"))
    return np.repeat(np.array(world.slopes_db_per_hour)[:, None], records, axis=1)


def _specimens(
    world: World, specimens: list[tuple[str, str]], random: np.random.Generator, records: int
) -> Floats:
    """Return the deviation of each specimen in each record."""
    drawn = world.specimen_sd_db * random.standard_normal((len(specimens), records))
    if world.centre_specimens:
        owner = pd.factorize(np.array([name for name, _ in specimens], dtype=object))[0]
        for code in range(owner.max() + 1):
            drawn[owner == code] -= drawn[owner == code].mean(axis=0)
    return drawn + np.array([world.specimens_db.get(pair, 0.0) for pair in specimens])[:, None]


def _walk(
    layout: Layout, block: NDArray[np.intp], world: World, random: np.random.Generator, records: int
) -> Floats:
    """Return a random walk over the swaps of each block, from zero at its first swap."""
    walk = np.zeros((len(layout), records))
    if world.wander_db_per_sqrt_hour == 0.0:
        return walk
    for b in range(int(block.max()) + 1):
        own = np.flatnonzero(block == b)
        own = own[np.argsort(layout.minutes[own], kind="stable")]
        steps = np.sqrt(np.diff(layout.minutes[own]) / 60.0)[:, None] * random.standard_normal((len(own) - 1, records))
        walk[own[1:]] = world.wander_db_per_sqrt_hour * np.cumsum(steps, axis=0)
    return walk


def _path(world: World, hours: Floats) -> Floats:
    """Ask the fixed path for its level."""
    assert world.path_db is not None
    path = np.asarray(world.path_db(hours.ravel()), float)
    if path.shape not in ((), (hours.size,)) or not np.all(np.isfinite(path)):
        raise RepeatsError(Fault("path_db does not return a finite level for every hour",
                                 got=f"an array of shape {path.shape}", allowed=f"shape ({hours.size},), finite"))
    return np.broadcast_to(path, hours.size).reshape(hours.shape)
