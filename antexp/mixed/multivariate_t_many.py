"""Critical values of one family for many records at once, each with degrees of freedom of its own."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.polynomial.chebyshev import chebfit, chebpts1, chebval
from numpy.typing import ArrayLike
from scipy.special import ndtr

from antexp.mixed.arrays import Floats
from antexp.mixed.family_arguments import checked_confidence, checked_correlation, checked_sides
from antexp.mixed.family_tail import family_point, student_point, unequal_df
from antexp.mixed.multivariate_normal import largest_normal

# The log of a critical value is nearly straight in 1/df; this many points leave less than 1e-5 from 0.3 df to
# infinity (tests/mixed/test_multivariate_t_many.py).
_POINTS = 32


def critical_values_many(
    correlation: ArrayLike, df: ArrayLike, confidence: float = 0.95, sides: int = 2
) -> Floats:
    """Return the critical values of many records, by the rule of `family_critical_values` for each.

    Parameters
    ----------
    correlation : array_like, shape (m, m) or (n_records, m, m)
        One for all records, or one a record. Each distinct one costs about as much as a first `critical_value`.
    df : array_like, shape (n_records,) or (n_records, m)
        One a record for all its contrasts, or one a contrast. NaN gives NaN for the whole record.
    confidence : float
    sides : {1, 2}

    Returns
    -------
    ndarray, same shape as df
        Within 1e-5, relative, of the value for each record alone.

    Raises
    ------
    ValueError
        When an argument is not what it must be.
    """
    matrices = np.asarray(correlation, dtype=float)
    matrices = matrices if matrices.ndim == 3 else matrices[None]
    freedom = _checked_many_df(df, matrices.shape)
    alpha, sides = 1.0 - checked_confidence(confidence), checked_sides(sides)
    values = np.full(freedom.shape, np.nan)
    if len(matrices) == 1:
        distinct, which = matrices, np.zeros(len(freedom), dtype=int)
    else:
        distinct, which = np.unique(matrices, axis=0, return_inverse=True)
    for number, matrix in enumerate(distinct):
        known = (which.ravel() == number) & ~np.isnan(freedom.reshape(len(freedom), -1)).any(axis=1)
        if known.any():
            values[known] = _one_correlation(checked_correlation(matrix), freedom[known], alpha, sides)
    return values


def _one_correlation(correlation: Floats, df: Floats, alpha: float, sides: int) -> Floats:
    """Return the values of records that share a correlation."""
    largest = largest_normal(correlation, sides)

    def point(some: Floats) -> Floats:
        return family_point(largest, some, alpha)

    if df.ndim == 1:
        return _over_df(point, df)
    values = np.repeat(_over_df(point, df.min(axis=1))[:, None], df.shape[1], axis=1)
    own = unequal_df(df)
    if own.any():
        tail = float(ndtr(-point(np.array([np.inf]))[0]))
        values[own] = _over_df(lambda some: student_point(some, tail), df[own].ravel()).reshape(df[own].shape)
    return values


def _over_df(point: Callable[[Floats], Floats], df: Floats) -> Floats:
    """Return point(df), by a polynomial for log point in 1/df when there are many df."""
    distinct, which = np.unique(df, return_inverse=True)
    if len(distinct) <= _POINTS:
        return point(distinct)[which]
    lowest, highest = 1.0 / distinct[-1], 1.0 / distinct[0]
    half, middle = 0.5 * (highest - lowest), 0.5 * (highest + lowest)
    nodes = chebpts1(_POINTS)
    value = point(1.0 / np.maximum(middle + half * nodes, 1e-300))
    if value.min() <= 0.0:  # one-sided at a confidence below one half: no logarithm
        return chebval((1.0 / df - middle) / half, chebfit(nodes, value, _POINTS - 1))
    return np.exp(chebval((1.0 / df - middle) / half, chebfit(nodes, np.log(value), _POINTS - 1)))


def _checked_many_df(df: ArrayLike, shape: tuple[int, ...]) -> Floats:
    """Return df as (n,) or (n, m), or raise."""
    freedom = np.asarray(df, dtype=float)
    records, m = (None if shape[0] == 1 else shape[0]), shape[-1]
    fits = freedom.ndim == 1 or (freedom.ndim == 2 and freedom.shape[1] == m)
    if not fits or (records is not None and len(freedom) != records):
        wanted = "n" if records is None else str(records)
        raise ValueError(
            f"df does not fit: got shape {freedom.shape}; allowed ({wanted},) or ({wanted}, {m}), one row a record."
        )
    if np.any(freedom <= 0.0):
        bad = np.flatnonzero((freedom <= 0.0).reshape(len(freedom), -1).any(axis=1))
        first = ", ".join(map(str, bad[:5]))
        raise ValueError(
            f"df is not positive: got {len(bad)} such records, the first {first}; allowed above 0, or NaN."
        )
    return freedom
