"""The record laid out in time, with the fitted path of the reference through it."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.analysis.result import Day
from antexp.analysis.scopes import ScopedFit

ROOM_HOURS = 0.35
"""Blocks stand one after the other on a common axis of time with this much room between them."""


def day_of(table: pd.DataFrame, fitted: ScopedFit) -> Day:
    """Lay the record out in time.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    fitted : ScopedFit
        The fit for these specimens.
    """
    rows = fitted.record.rows.copy()
    rows["path_db"], rows["own_db"] = _path_and_own(fitted)
    start = _block_starts(table)
    readings = table[["swap", "block", "candidate", "receiver", "minutes", "level_db"]].copy()
    offset = _offsets(table)
    if fitted.record.averaged_receivers > 1:
        readings["level_db"] -= readings["receiver"].map(offset - offset.mean())
    else:
        readings["level_db"] -= readings["receiver"].map(offset)
        for name in ("level_db", "path_db"):
            rows[name] -= rows["receiver"].map(offset)
    for frame in (rows, readings):
        frame["hours"] = frame["block"].map(start) + frame["minutes"] / 60.0
    keys = ["swap", "block", "candidate", "specimen", "place"]
    swaps = rows.groupby(keys, sort=False).agg(
        minutes=("minutes", "mean"), hours=("hours", "mean"), readings=("level_db", "size"),
        level_db=("level_db", "mean"), own_db=("own_db", "mean"), fitted_path_db=("path_db", "mean"),
    ).reset_index()
    swaps["path_db"] = swaps["level_db"] - swaps["own_db"]
    path = swaps.rename(columns={"path_db": "seen_db", "fitted_path_db": "path_db"})
    return Day(swaps, readings, path[["block", "hours", "path_db"]].sort_values(["hours"]).reset_index(drop=True))


def _offsets(table: pd.DataFrame) -> pd.Series[float]:
    """Return how far each receiver lies above the one that heard most swaps, over the swaps that both heard.

    For the picture alone: without it the level would jump where a receiver falls silent.
    """
    means = table.groupby(["swap", "receiver"])["level_db"].mean().unstack()
    main = means[means.count().idxmax()]
    return means.sub(main, axis=0).median().fillna(0.0)


def _path_and_own(fitted: ScopedFit) -> tuple[np.ndarray, np.ndarray]:
    """Split each fitted level into the path as the reference sees it and the candidate's own part."""
    model, coefficients = fitted.record.model, fitted.fit.coefficients
    path_columns = np.concatenate([model.columns_of("block"), model.columns_of("drift")])
    reference = float(model.levels[0] @ coefficients)
    path = model.X[:, path_columns] @ coefficients[path_columns] + reference
    return path, model.X @ coefficients - path


def _block_starts(table: pd.DataFrame) -> dict[object, float]:
    """Return the hour at which each block starts on the common axis."""
    starts: dict[object, float] = {}
    now = 0.0
    for block, inside in table.groupby("block", sort=False):
        low, high = inside["minutes"].min() / 60.0, inside["minutes"].max() / 60.0
        starts[block] = now - low
        now += high - low + ROOM_HOURS
    return starts
