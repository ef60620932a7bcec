"""Limits and p-values that hold for a whole family of comparisons: the multivariate t (method, section 5).

A family is known by the correlation of its contrasts and their degrees of freedom. Everything here is deterministic.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq
from scipy.special import log_ndtr, ndtr, ndtri, stdtr, stdtrit

from antexp.mixed.multivariate_normal import LargestNormal, largest_normal

Array = NDArray[np.float64]

# From this ratio of degrees of freedom on, and at this least df, each gap gets its own value (method, section 5).
_UNEQUAL_RATIO = 1.5
_UNEQUAL_LEAST_DF = 5.0
_CHI_NODES = 128


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
    largest = largest_normal(_checked_correlation(correlation), _checked_sides(sides))
    return _critical(largest, _checked_df(df), _checked_confidence(confidence))


def adjusted_p(t: ArrayLike, correlation: ArrayLike, df: float, sides: int = 2) -> Array:
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
    checked = _checked_correlation(correlation)
    largest = largest_normal(checked, _checked_sides(sides))
    ratio = _checked_t(t, len(checked), sides)
    return _tail(largest, ratio, np.full(len(ratio), _checked_df(df)))


def family_critical_values(
    correlation: ArrayLike, df: ArrayLike, confidence: float = 0.95, sides: int = 2
) -> Array:
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
    checked = _checked_correlation(correlation)
    freedom = _checked_family_df(df, len(checked))
    largest = largest_normal(checked, _checked_sides(sides))
    confidence = _checked_confidence(confidence)
    if not _unequal(freedom):
        return np.full(len(freedom), _critical(largest, float(freedom.min()), confidence))
    return _student_point(freedom, ndtr(-_critical(largest, np.inf, confidence)))


def family_adjusted_p(t: ArrayLike, correlation: ArrayLike, df: ArrayLike, sides: int = 2) -> Array:
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
    checked = _checked_correlation(correlation)
    freedom = _checked_family_df(df, len(checked))
    largest = largest_normal(checked, _checked_sides(sides))
    ratio = _checked_t(t, len(checked), sides)
    if not _unequal(freedom):
        return _tail(largest, ratio, np.full(len(ratio), freedom.min()))
    return largest.tail(-ndtri(_student_tail(freedom, ratio)))


def _unequal(df: Array) -> bool:
    """Tell whether each contrast gets a value of its own."""
    return bool(df.min() >= _UNEQUAL_LEAST_DF and df.max() > _UNEQUAL_RATIO * df.min())


def _student_tail(df: Array, t: Array) -> Array:
    """Return P(T > t) of Student's t."""
    return np.where(np.isinf(df), ndtr(-t), stdtr(np.where(np.isinf(df), 1.0, df), -t))


def _student_point(df: Array, tail: float) -> Array:
    """Return t with P(T > t) = tail."""
    return -np.where(np.isinf(df), ndtri(tail), stdtrit(np.where(np.isinf(df), 1.0, df), tail))


def _tail(largest: LargestNormal, t: Array, df: Array) -> Array:
    """Return P(some Tᵢ is beyond t): Bonferroni's sum times the mean union share given that one is beyond."""
    bound = largest.sides * largest.count * _student_tail(df, t)
    return np.where(np.isnan(t), np.nan, np.minimum(bound * _mean_share(largest, t, df), 1.0))


def _mean_share(largest: LargestNormal, t: Array, df: Array) -> Array:
    """Return the mean of share(ts) over s = χ_df/√df given that one normal is beyond ts.

    A trapezoid in y = log s, where the weight falls off fast on both sides; both sums share its error.
    """
    share = largest.share(t)
    finite = np.isfinite(df) & np.isfinite(t)
    if largest.count == 1 or not finite.any():
        return share
    t, df = t[finite, None], df[finite, None]
    half = 0.5 * df
    middle = 0.5 * np.log((df + 1.0) / (df + np.maximum(t, 0.0) ** 2))
    left = np.sqrt(18.0 / half) + 18.0 / half
    right = 0.5 * np.log1p(np.sqrt(72.0 / half) + 54.0 / half)
    y = middle - left + (left + right) * np.linspace(0.0, 1.0, _CHI_NODES)
    log_weight = df * (y - 0.5 * np.expm1(2.0 * y)) + log_ndtr(-t * np.exp(y))
    weight = np.exp(log_weight - log_weight.max(axis=1, keepdims=True))
    share[finite] = np.sum(weight * largest.share(t * np.exp(y)), axis=1) / np.sum(weight, axis=1)
    return share


def _critical(largest: LargestNormal, df: float, confidence: float) -> float:
    """Solve the tail for the level; between the value of one contrast and Bonferroni's."""
    alpha = 1.0 - confidence
    freedom = np.array([df])
    upper = float(_student_point(freedom, alpha / (largest.sides * largest.count))[0])
    if largest.count == 1:
        return upper
    lower = float(_student_point(freedom, alpha / largest.sides)[0])
    pad = 1e-6 * (1.0 + abs(upper))
    excess: Callable[[float], float] = lambda c: float(np.log(_tail(largest, np.array([c]), freedom)[0] / alpha))  # noqa: E731
    return float(brentq(excess, lower - pad, upper + pad, xtol=1e-12, rtol=1e-13))


def _checked_correlation(correlation: ArrayLike) -> Array:
    """Return the correlation as an exactly symmetric array with a unit diagonal, or raise."""
    matrix = np.asarray(correlation, dtype=float)
    if matrix.ndim != 2 or matrix.shape[0] != matrix.shape[1] or matrix.size == 0:
        raise ValueError(f"correlation has the wrong shape: got {matrix.shape}; allowed (m, m) with m ≥ 1.")
    if not np.all(np.isfinite(matrix)):
        raise ValueError(
            "correlation has entries that are not finite; allowed numbers from −1 to 1. Leave contrasts that cannot "
            "be estimated out of the family."
        )
    off_unit = float(np.max(np.abs(np.diag(matrix) - 1.0)))
    asymmetry = float(np.max(np.abs(matrix - matrix.T)))
    if off_unit > 1e-8 or asymmetry > 1e-8:
        raise ValueError(
            f"correlation is not a correlation matrix: got a diagonal off 1 by {off_unit:.2g} and an asymmetry of "
            f"{asymmetry:.2g}; allowed 1e-8. Divide the covariance by the standard errors first."
        )
    smallest = float(np.linalg.eigvalsh(matrix)[0])
    if smallest < -1e-6:
        raise ValueError(
            f"correlation is not positive semi-definite: got an eigenvalue of {smallest:.3g}; allowed ≥ 0."
        )
    matrix = np.clip(0.5 * (matrix + matrix.T), -1.0, 1.0)
    np.fill_diagonal(matrix, 1.0)
    return matrix


def _checked_sides(sides: int) -> int:
    """Return sides or raise."""
    if sides not in (1, 2):
        raise ValueError(f"sides is not known: got {sides!r}; allowed 1 or 2.")
    return sides


def _checked_df(df: float) -> float:
    """Return df or raise."""
    if not df > 0.0:
        raise ValueError(f"df is not positive: got {df!r}; allowed any number above 0, or infinity.")
    return float(df)


def _checked_family_df(df: ArrayLike, m: int) -> Array:
    """Return df as an array of m positive numbers or raise."""
    freedom = np.asarray(df, dtype=float)
    if freedom.shape != (m,) or not np.all(freedom > 0.0):
        raise ValueError(f"df does not fit: got {freedom}; allowed {m} numbers above 0, one a contrast.")
    return freedom


def _checked_confidence(confidence: float) -> float:
    """Return confidence or raise."""
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence is not a probability: got {confidence!r}; allowed between 0 and 1.")
    return float(confidence)


def _checked_t(t: ArrayLike, m: int, sides: int) -> Array:
    """Return t as m ratios, without sign when two-sided, or raise."""
    ratio = np.asarray(t, dtype=float)
    if ratio.shape != (m,):
        raise ValueError(f"t does not fit: got shape {ratio.shape}; allowed ({m},), one a contrast.")
    return np.abs(ratio) if sides == 2 else ratio
