"""Estimates of several sites put together: variance between them, and a standard error that allows for it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq

from antexp.mixed.arrays import Floats


@dataclass(frozen=True)
class Together:
    """Several estimates of one quantity, together.

    Attributes
    ----------
    estimate : float, dB
        Weighted mean.
    standard_error : float, dB
        Hartung–Knapp, never below the fixed-effect one; with two sites the fixed-effect one.
    degrees_of_freedom : float
        K − 1.
    between_variance : float, dB²
        Paule–Mandel; 0 where the sites differ no more than their own errors.
    heterogeneity : float
        Q, the weighted sum of squares about the fixed-effect mean.
    """

    estimate: float
    standard_error: float
    degrees_of_freedom: float
    between_variance: float
    heterogeneity: float


def put_together(estimates: ArrayLike, standard_errors: ArrayLike) -> Together:
    """Put the estimates of K sites together.

    Parameters
    ----------
    estimates, standard_errors : array_like, shape (K,), dB

    Raises
    ------
    ValueError
        Fewer than two sites, or an error that is not above 0.

    References
    ----------
    Paule & Mandel 1982, J. Res. Natl. Bur. Stand. 87:377. Hartung & Knapp 2001, Stat. Med. 20:3875.
    Röver, Knapp & Friede 2015, BMC Med. Res. Methodol. 15:99 (never narrower than the fixed effect).
    """
    y, error = np.asarray(estimates, dtype=float), np.asarray(standard_errors, dtype=float)
    if y.size < 2 or y.shape != error.shape or not np.all(error > 0) or not np.all(np.isfinite(y)):
        raise ValueError("sites do not fit: two or more estimates with standard errors above 0 are needed")
    variance = error**2
    fixed, fixed_error = _weighted(y, 1.0 / variance)
    heterogeneity = float(((y - fixed) ** 2 / variance).sum())
    if y.size == 2:
        return Together(fixed, fixed_error, 1.0, paule_mandel(y, variance), heterogeneity)
    between = paule_mandel(y, variance)
    weight = 1.0 / (variance + between)
    estimate, plain = _weighted(y, weight)
    spread = float((weight * (y - estimate) ** 2).sum()) / (y.size - 1)
    return Together(estimate, float(max(np.sqrt(spread) * plain, fixed_error)), y.size - 1.0, between, heterogeneity)


def paule_mandel(y: Floats, variance: Floats) -> float:
    """Return the variance between sites at which the weighted squares equal K − 1; 0 where they are fewer."""

    def excess(between: float) -> float:
        weight = 1.0 / (variance + between)
        mean = (weight * y).sum() / weight.sum()
        return float((weight * (y - mean) ** 2).sum()) - (y.size - 1)

    if excess(0.0) <= 0:
        return 0.0
    upper = float(np.ptp(y) ** 2)  # there the squares are below K/4 ≤ K − 1, for no variance exceeds range²/4
    return float(brentq(excess, 0.0, upper, xtol=1e-14, rtol=1e-12))


def _weighted(y: Floats, weight: Floats) -> tuple[float, float]:
    """Return a weighted mean and its standard error."""
    return float((weight * y).sum() / weight.sum()), float(1.0 / np.sqrt(weight.sum()))
