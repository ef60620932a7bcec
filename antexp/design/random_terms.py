"""Random terms of M1 as the kernel takes them: group numbers, and the loadings of a walk."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.mixed.reml import AtZero


def group_numbers(rows: pd.DataFrame, by: list[str]) -> NDArray[np.int64]:
    """Return group numbers in order of first mention, shape (n,)."""
    return np.asarray(rows.groupby(by, sort=False).ngroup(), dtype=np.int64)


def at_zero_of(groups: Mapping[str, object]) -> AtZero:
    """Return what becomes of a random term at zero: beside a walk it stays in, else it may be the error line (M7)."""
    return "keep" if "walk" in groups else "error line"


def walk_loadings(rows: pd.DataFrame) -> NDArray[np.float64]:
    """Return the loadings of a random walk over the swap times of each block (M1, wandering).

    Parameters
    ----------
    rows : DataFrame
        With ``swap, block, minutes``.

    Returns
    -------
    ndarray, shape (n, swaps - blocks)
        Column j belongs to the step before a swap: zero up to there, √(hours of that step) from it on, so that the
        variance of the term is in dB² per hour.
    """
    times = rows.groupby(["block", "swap"], sort=False)["minutes"].mean().reset_index()
    columns = []
    for block, inside in times.groupby("block", sort=False):
        swaps = inside.sort_values("minutes")
        hours = np.diff(swaps["minutes"].to_numpy(float)) / 60.0
        of_row = rows["swap"].map(dict(zip(swaps["swap"], range(len(swaps)), strict=True))).to_numpy(float)
        mine = (rows["block"] == block).to_numpy()
        columns += [np.where(mine & (of_row > step), np.sqrt(hour), 0.0) for step, hour in enumerate(hours)]
    return np.column_stack(columns) if columns else np.zeros((len(rows), 0))
