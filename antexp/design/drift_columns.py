"""Drift inside each block as polynomial columns in centred block time (M1)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

_DEGREE = {"none": 0, "steady": 1, "curved": 2, "wandering": 1}
_FORM = {0: "none", 1: "steady", 2: "curved"}


def drift_columns(
    block: NDArray[np.object_], minutes: NDArray[np.float64], swap: NDArray[np.object_], drift: str
) -> tuple[NDArray[np.float64], tuple[str, ...], dict[str, str]]:
    """Return the drift columns of every block.

    Parameters
    ----------
    block : ndarray of str, shape (n,)
        Block of each row.
    minutes : ndarray, shape (n,), minutes
        Time within the block.
    swap : ndarray, shape (n,)
        Swap of each row; a block's swaps decide how much drift it may carry.
    drift : {"none", "steady", "curved", "wandering"}
        Declared form.

    Returns
    -------
    columns : ndarray, shape (n, d)
        Hours from the middle of the block (dB per hour) and, for a parabola, their square less its mean.
    names : tuple of str, length d
        ``"drift: <block> line"`` and ``"drift: <block> curve"``.
    forms : dict of str to str
        What each block carries: fewer than 4 swaps get at most a line, 2 or fewer no slope (method section 2).
    """
    columns: list[NDArray[np.float64]] = []
    names: list[str] = []
    forms: dict[str, str] = {}
    for label in dict.fromkeys(block):
        rows = block == label
        degree = min(_DEGREE[drift], _most(len(set(swap[rows]))))
        forms[label] = "wandering" if drift == "wandering" and degree == 1 else _FORM[degree]
        hours = np.where(rows, (minutes - _middle(minutes[rows])) / 60.0, 0.0)
        if degree >= 1:
            columns.append(hours)
            names.append(f"drift: {label} line")
        if degree >= 2:
            columns.append(np.where(rows, hours**2 - np.mean(hours[rows] ** 2), 0.0))
            names.append(f"drift: {label} curve")
    stacked = np.column_stack(columns) if columns else np.empty((len(minutes), 0))
    return stacked, tuple(names), forms


def _most(swaps: int) -> int:
    """Return the highest degree a block of so many swaps may carry."""
    return 2 if swaps >= 4 else 1 if swaps >= 3 else 0


def _middle(minutes: NDArray[np.float64]) -> float:
    """Return the middle of a block, halfway between its first and last reading."""
    return float(minutes.min() + minutes.max()) / 2.0
