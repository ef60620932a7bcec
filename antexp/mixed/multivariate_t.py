"""Limits and p-values that hold for a whole family of comparisons: the multivariate t (method, section 5).

A family is known by the correlation of its contrasts and their degrees of freedom. Everything here is deterministic.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr, ndtri

from antexp.mixed.arrays import Floats
from antexp.mixed.family_arguments import (
    checked_confidence,
    checked_correlation,
    checked_df,
    checked_family_df,
    checked_sides,
    checked_t,
)
from antexp.mixed.family_tail import family_point, family_tail, student_point, student_tail, unequal_df
from antexp.mixed.multivariate_normal import LargestNormal, largest_normal
from antexp.mixed.multivariate_t_many import critical_values_many

__all__ = ["adjusted_p", "critical_value", "critical_values_many", "family_adjusted_p", "family_critical_values"]


def critical_value(correlation: ArrayLike, df: float, confidence: float = 0.95, sides: int = 2) -> float:
    """Return c so that all |tᵢ| (or all tᵢ) are at most c with the given confidence.

    Parameters
    ----------
    correlation : array_like, shape (m, m)
        Correlation of the contrasts; may be singular.
    df : float
        Degrees of freedom of the common error, real, may be infinite.
    confidence : float
        Between 0 and 1.
    sides : {1, 2}

    Returns
    -------
    float
        Relative error below 1e-3.

    Raises
    ------
    ValueError
        When an argument is not what it must be.

    References
    ----------
    Hothorn, Bretz & Westfall 2008, Biom. J. 50:346.
    """
    largest = largest_normal(checked_correlation(correlation), checked_sides(sides))
    alpha = 1.0 - checked_confidence(confidence)
    return _point(largest, checked_df(df), alpha)


def adjusted_p(t: ArrayLike, correlation: ArrayLike, df: float, sides: int = 2) -> Floats:
    """Return the p-values of the contrasts, adjusted for the family.

    Parameters
    ----------
    t : array_like, shape (m,)
        The t ratios. NaN stays NaN.
    correlation : array_like, shape (m, m)
    df : float
    sides : {1, 2}
        1: a large positive t speaks against the null.

    Returns
    -------
    ndarray, shape (m,)
        P(the largest |T| of the family ≥ |tᵢ|). Relative error below 1e-3, however small.

    Raises
    ------
    ValueError
        When an argument is not what it must be.
    """
    checked = checked_correlation(correlation)
    largest = largest_normal(checked, checked_sides(sides))
    ratio = checked_t(t, len(checked), sides)
    return family_tail(largest, ratio, np.full(len(ratio), checked_df(df)))


def family_critical_values(
    correlation: ArrayLike, df: ArrayLike, confidence: float = 0.95, sides: int = 2
) -> Floats:
    """Return one critical value a contrast, for contrasts with degrees of freedom of their own.

    Parameters
    ----------
    correlation : array_like, shape (m, m)
    df : array_like, shape (m,)
    confidence : float
    sides : {1, 2}

    Returns
    -------
    ndarray, shape (m,)

    Raises
    ------
    ValueError
        When an argument is not what it must be.

    Notes
    -----
    The smallest df serves all, unless max/min > 1.5 and min ≥ 5: then p* is the tail of one contrast at the family's
    multivariate normal value and cᵢ the point of Student's t with dfᵢ that has this tail.
    """
    checked = checked_correlation(correlation)
    freedom = checked_family_df(df, len(checked))
    largest = largest_normal(checked, checked_sides(sides))
    alpha = 1.0 - checked_confidence(confidence)
    if not unequal_df(freedom):
        return np.full(len(freedom), _point(largest, float(freedom.min()), alpha))
    return student_point(freedom, float(ndtr(-_point(largest, np.inf, alpha))))


def family_adjusted_p(t: ArrayLike, correlation: ArrayLike, df: ArrayLike, sides: int = 2) -> Floats:
    """Return adjusted p-values by the rule of `family_critical_values`.

    Parameters
    ----------
    t : array_like, shape (m,)
    correlation : array_like, shape (m, m)
    df : array_like, shape (m,)
    sides : {1, 2}

    Returns
    -------
    ndarray, shape (m,)
        Below 1 − confidence exactly where |tᵢ| (one-sided: tᵢ) is beyond its critical value.

    Raises
    ------
    ValueError
        When an argument is not what it must be.
    """
    checked = checked_correlation(correlation)
    freedom = checked_family_df(df, len(checked))
    largest = largest_normal(checked, checked_sides(sides))
    ratio = checked_t(t, len(checked), sides)
    if not unequal_df(freedom):
        return family_tail(largest, ratio, np.full(len(ratio), freedom.min()))
    return largest.tail(-ndtri(student_tail(freedom, ratio)))


@lru_cache(maxsize=256)
def _point(largest: LargestNormal, df: float, alpha: float) -> float:
    """Return the critical value for one df; the last ones are remembered."""
    return float(family_point(largest, np.array([df]), alpha)[0])
