"""From the largest normal to the largest t: its tail, and the point with a given tail."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import log_ndtr, ndtr, ndtri, stdtr, stdtrit

from antexp.mixed.arrays import Floats

_CHI_NODES = 128
_MOST_STEPS = 60
# Beyond this ratio of degrees of freedom, and from this least df on, each gap gets its own value (method, section 5).
_UNEQUAL_RATIO = 1.5
_UNEQUAL_LEAST_DF = 5.0


class Largest(Protocol):
    """What the tail needs to know of the largest of correlated normals, such as `LargestNormal`."""

    @property
    def count(self) -> int:
        """Number of distinct normals."""

    @property
    def sides(self) -> int:
        """One or two."""

    def share(self, x: Floats) -> Floats:
        """Return the union share at x, shape (n,) or (n, k)."""


def unequal_df(df: Floats) -> NDArray[np.bool_]:
    """Tell whether each contrast of a family gets a critical value of its own.

    Parameters
    ----------
    df : ndarray, shape (..., m)

    Returns
    -------
    ndarray of bool, shape (...)
    """
    least, most = df.min(axis=-1), df.max(axis=-1)
    return (least >= _UNEQUAL_LEAST_DF) & (most > _UNEQUAL_RATIO * least)


def student_tail(df: Floats, t: Floats) -> Floats:
    """Return P(T > t) of Student's t.

    Parameters
    ----------
    df : ndarray, shape (n,)
        May be infinite.
    t : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
    """
    return np.where(np.isinf(df), ndtr(-t), stdtr(np.where(np.isinf(df), 1.0, df), -t))


def student_point(df: Floats, tail: float | Floats) -> Floats:
    """Return t with P(T > t) = tail.

    Parameters
    ----------
    df : ndarray, shape (...)
        May be infinite.
    tail : float or ndarray
        Of a shape that fits df.

    Returns
    -------
    ndarray, shape (...)
    """
    return -np.where(np.isinf(df), ndtri(tail), stdtrit(np.where(np.isinf(df), 1.0, df), tail))


def family_tail(largest: Largest, t: Floats, df: Floats) -> Floats:
    """Return P(some Tᵢ is beyond t), all Tᵢ over one chi.

    Parameters
    ----------
    largest : Largest
    t : ndarray, shape (n,)
        NaN stays NaN.
    df : ndarray, shape (n,)

    Returns
    -------
    ndarray, shape (n,)
        Bonferroni's sum times the mean union share given that one is beyond.
    """
    bound = largest.sides * largest.count * student_tail(df, t)
    return np.where(np.isnan(t), np.nan, np.minimum(bound * _mean_share(largest, t, df), 1.0))


def _mean_share(largest: Largest, t: Floats, df: Floats) -> Floats:
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


def family_point(largest: Largest, df: Floats, alpha: float) -> Floats:
    """Return c with P(some Tᵢ is beyond c) = alpha.

    Parameters
    ----------
    largest : Largest
    df : ndarray, shape (n,)
    alpha : float
        Between 0 and 1.

    Returns
    -------
    ndarray, shape (n,)
        Solved to 1e-12 in the tail.

    Notes
    -----
    The root lies between the points of one contrast and of Bonferroni. Regula falsi of log tail against asinh c,
    where it is nearly straight, with the Illinois halving (Dowell & Jarratt 1971, BIT 11:168).
    """
    upper = student_point(df, alpha / (largest.sides * largest.count))
    if largest.count == 1:
        return upper

    def excess(place: Floats) -> Floats:
        return np.log(family_tail(largest, np.sinh(place), df) / alpha)

    # The hundredth is for the error of a sampled share where all contrasts are nearly one.
    old = np.arcsinh(student_point(df, alpha / largest.sides)) - 0.01
    new = np.arcsinh(upper) + 1e-9
    old_excess, new_excess = excess(old), excess(new)
    for _ in range(_MOST_STEPS):
        step = new_excess * (new - old) / np.where(new_excess == old_excess, 1.0, new_excess - old_excess)
        place = new - step
        here = excess(place)
        crossed = here * new_excess <= 0.0
        old = np.where(crossed, new, old)
        old_excess = np.where(crossed, new_excess, 0.5 * old_excess)
        new, new_excess = place, here
        if np.max(np.abs(here)) < 1e-12:
            break
    return np.sinh(new)
