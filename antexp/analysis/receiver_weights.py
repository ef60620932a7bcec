"""A reading scatter for each receiver: readings weighted by how steady their receiver is (method section 2)."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.mixed import fit_reml
from antexp.mixed.fit import RemlFit
from antexp.mixed.reml import AtZero

Floats = NDArray[np.float64]

UNLIKE = 2.0
"""Reading scatters of receivers this far apart are told apart in the fit, and said."""

# A receiver's own scatter is believed from so many spare readings on: its standard error is below a quarter then.
_SPARE_READINGS = 10
# Weights more unlike than this change nothing: what a swap does to one receiver alone is larger by then.
_MOST_UNLIKE = 20.0
# Weighted random terms are dense columns, and their algebra is the cube of their number.
_MOST_SWAPS = 500


def reading_scatter(table: pd.DataFrame) -> dict[str, float | None]:
    """Return the scatter of readings within swaps of each receiver, dB; None where no swap has two readings."""
    found: dict[str, float | None] = {}
    for name, inside in table.groupby("receiver", sort=False):
        squares, spare = within_swaps(inside)
        found[str(name)] = float(np.sqrt(squares / spare)) if spare > 0 else None
    return found


def receiver_weights(table: pd.DataFrame) -> Floats | None:
    """Return the weight of each reading: the scatter of all receivers over that of its own.

    Parameters
    ----------
    table : DataFrame
        One row a reading: ``swap, receiver, level_db``.

    Returns
    -------
    ndarray, shape (n,), or None
        None where one scatter serves all: receivers alike within a factor of two, too few readings to tell, a receiver
        that never moves within a swap, or more than 500 swaps.

    Notes
    -----
    Weights are found from the scatter within swaps alone, before and apart from the fit of the gaps.
    """
    if table["receiver"].nunique() < 2 or table["swap"].nunique() > _MOST_SWAPS:
        return None
    parts = {str(name): within_swaps(inside) for name, inside in table.groupby("receiver", sort=False)}
    if any(spare < _SPARE_READINGS or squares <= 0 for squares, spare in parts.values()):
        return None
    variance = {name: squares / spare for name, (squares, spare) in parts.items()}
    if max(variance.values()) <= UNLIKE**2 * min(variance.values()):
        return None
    smallest = max(variance.values()) / _MOST_UNLIKE**2
    of_reading = table["receiver"].astype(str).map({name: max(v, smallest) for name, v in variance.items()})
    pooled = sum(squares for squares, _ in parts.values()) / sum(spare for _, spare in parts.values())
    return np.sqrt(pooled / of_reading.to_numpy(float))


def fit_weighted(
    level_db: Floats, X: Floats, groups: Mapping[str, NDArray[np.generic]], weights: Floats | None, at_zero: AtZero,
    start: Mapping[str, float] | None = None,
) -> RemlFit:
    """Fit by REML, each reading by its weight.

    Parameters
    ----------
    level_db : ndarray, shape (n,), dB
    X : ndarray, shape (n, p)
    groups : mapping of str to ndarray
        Random terms.
    weights : ndarray, shape (n,), or None
        As `receiver_weights` returns them; None: all alike.
    at_zero, start
        As `antexp.mixed.fit_reml` takes them; with weights a random term at zero stays in.

    Returns
    -------
    RemlFit
        Its reading variance is that of all receivers together.
    """
    if weights is None:
        return fit_reml(level_db, X, groups, at_zero, start)
    loadings = {name: _columns(codes) * weights[:, None] for name, codes in groups.items()}
    return fit_reml(level_db * weights, X * weights[:, None], loadings, "keep", start)


def likelihood_shift(X: Floats, weights: Floats | None, aliased: tuple[int, ...]) -> float:
    """Return what turns the restricted log-likelihood of weighted readings into that of the readings themselves.

    Parameters
    ----------
    X : ndarray, shape (n, p)
    weights : ndarray, shape (n,), or None
    aliased : tuple of int
        Columns that the fit set aside.
    """
    if weights is None:
        return 0.0
    kept = np.delete(X, aliased, axis=1)
    weighted = kept * weights[:, None]
    log_ratio = np.linalg.slogdet(kept.T @ kept)[1] - np.linalg.slogdet(weighted.T @ weighted)[1]
    return float(np.log(weights).sum() + 0.5 * log_ratio)


def _columns(codes: NDArray[np.generic]) -> Floats:
    """Return a random term as columns."""
    if codes.ndim == 2:
        return np.asarray(codes, dtype=float)
    return np.asarray(np.eye(len(np.unique(codes)))[np.unique(codes, return_inverse=True)[1]])


def within_swaps(table: pd.DataFrame) -> tuple[float, int]:
    """Return the sum of squares of readings within swap and receiver, dB², and its degrees of freedom."""
    groups = table.groupby(["swap", "receiver"])["level_db"]
    return float((groups.var(ddof=0) * groups.size()).sum()), int((groups.size() - 1).sum())
