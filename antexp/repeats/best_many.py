"""Which candidates can still be the best, for many records at once (method section 5, ``best``)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.best import limits_by_all_pairs
from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import critical_values_many
from antexp.mixed.verdict import classify_best
from antexp.repeats.family_many import critical_many

Floats = NDArray[np.float64]


def best_limits(
    gaps: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_], confidence: float,
    matter_db: float | None,
) -> tuple[Floats, Floats, Floats, NDArray[np.str_]]:
    """Hold every candidate against the best of the others, as `antexp.mixed.best` does for one record.

    Parameters
    ----------
    gaps : ndarray, shape (N, k(k − 1)/2), dB
        All differences: the first candidate less each other, then the second less each later one, and so on.
    covariances : ndarray, shape (N, k(k − 1)/2, k(k − 1)/2), dB²
    df : ndarray, shape (N, k(k − 1)/2)
    usable : ndarray of bool, shape (N,)
        False: no limits can be given.
    confidence : float
    matter_db : float or None, dB

    Returns
    -------
    gap_db, lower_db, upper_db : ndarray, shape (N, k), dB
    verdict : ndarray of str, shape (N, k)

    References
    ----------
    Hsu (1984), Ann. Stat. 12:1136; Edwards & Hsu (1983), J. Am. Stat. Assoc. 78:965.
    """
    k = round((1 + (1 + 8 * gaps.shape[1]) ** 0.5) / 2)
    i, j = np.triu_indices(k, 1)
    difference, errors = np.zeros((len(gaps), k, k)), np.zeros((len(gaps), k, k))
    difference[:, i, j], difference[:, j, i] = gaps, -gaps
    root = np.sqrt(np.maximum(np.einsum("nii->ni", covariances), 0.0))
    errors[:, i, j] = errors[:, j, i] = root
    off = ~np.eye(k, dtype=bool)
    margin = _one_sided(k, covariances, df, usable, confidence) * errors
    upper = np.maximum(0.0, np.min(np.where(off, difference + margin, np.inf), axis=2))
    could = upper > 0.0
    against = difference - np.swapaxes(margin, 1, 2)
    lower = np.minimum(0.0, np.min(np.where(could[:, None, :] & off, against, np.inf), axis=2))
    gap = np.min(np.where(off, difference, np.inf), axis=2)
    for values in (gap, lower, upper):
        values[~usable] = np.nan
    below, above = _by_pairs(gaps, root, covariances, df, usable, confidence, matter_db)
    return gap, lower, upper, classify_best(lower, upper, below, above, matter_db)


def _one_sided(k: int, covariances: Floats, df: Floats, usable: NDArray[np.bool_], confidence: float) -> Floats:
    """Return one-sided Dunnett values, row by row with that candidate as the control, shape (N, k, k)."""
    i, j = np.triu_indices(k, 1)
    place = np.zeros((k, k), dtype=np.intp)
    place[i, j] = place[j, i] = np.arange(len(i))
    values = np.zeros((len(df), k, k))
    if not usable.any():
        return values
    for control in range(k):
        others = np.delete(np.arange(k), control)
        own = place[control, others]
        sign = np.where(others > control, 1.0, -1.0)
        covariance = covariances[usable][:, own[:, None], own] * np.outer(sign, sign)
        correlations = correlation_of(covariance)
        if np.abs(correlations - correlations[:1]).max() < 1e-9:
            correlations = correlations[:1]
        found = critical_values_many(correlations, df[usable][:, own], confidence, sides=1)
        values[np.flatnonzero(usable)[:, None], control, others] = found
    return values


def _by_pairs(
    gaps: Floats, root: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_], confidence: float,
    matter_db: float | None,
) -> tuple[Floats, Floats]:
    """Return the limits of each gap to the best of the others by all pairs, shape (N, k)."""
    lower, upper = np.full(gaps.shape, np.nan), np.full(gaps.shape, np.nan)
    if not usable.any():
        return limits_by_all_pairs(lower, upper)
    some, error = gaps[usable], root[usable]
    edges = np.abs(some) / error
    if matter_db is not None:
        edges = np.hstack([edges, (np.abs(some) - matter_db) / error])
    half = critical_many(covariances[usable], df[usable], confidence, edges) * error
    lower[usable], upper[usable] = some - half, some + half
    return limits_by_all_pairs(lower, upper)
