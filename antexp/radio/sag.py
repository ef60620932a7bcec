"""How far a wire hangs through, and what that does to its height."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.constants import exact

Floats = NDArray[np.float64]

GRAVITY = exact("standard acceleration of gravity", 9.80665, "m/s²", "CGPM 1901")

SAG_CONSTANTS = (GRAVITY,)
"""What this module takes from outside."""

CURRENT_WEIGHT = 8.0 / np.pi**2
"""Height lost by the current's centre over the sag of a parabola, for a cosine of current: ∫cos·(1−4u²)/∫cos."""


def weight_n_per_m(mass_g_per_m: ArrayLike) -> Floats:
    """Return the weight of a wire in N/m."""
    return np.asarray(mass_g_per_m, float) * 1e-3 * GRAVITY.value


def parabola_sag_m(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike) -> Floats:
    """Return the sag of a wire between two supports of equal height.

    Parameters
    ----------
    mass_g_per_m : array_like, g/m
    span_m : array_like, m
    tension_n : array_like, N
        Horizontal.

    Returns
    -------
    ndarray, m
        w·L²/(8·T); within 1 % of the catenary while the sag stays below a twelfth of the span.
    """
    return weight_n_per_m(mass_g_per_m) * np.asarray(span_m, float) ** 2 / (8.0 * np.asarray(tension_n, float))


def catenary_sag_m(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike) -> Floats:
    """Return the sag exactly, (T/w)·[cosh(wL/2T) − 1], in m (arguments as `parabola_sag_m`)."""
    weight, tension = weight_n_per_m(mass_g_per_m), np.asarray(tension_n, float)
    quarter = weight * np.asarray(span_m, float) / (4.0 * tension)
    # cosh x − 1 = 2 sinh²(x/2) keeps its digits for a taut wire
    return 2.0 * tension / weight * np.sinh(quarter) ** 2


def catenary_length_m(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike) -> Floats:
    """Return the length of the hanging wire, (2T/w)·sinh(wL/2T), in m (arguments as `parabola_sag_m`)."""
    weight, tension = weight_n_per_m(mass_g_per_m), np.asarray(tension_n, float)
    return 2.0 * tension / weight * np.sinh(weight * np.asarray(span_m, float) / (2.0 * tension))


def support_tension_n(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike) -> Floats:
    """Return the pull along the wire at a support, T·cosh(wL/2T), in N: the largest in it (arguments as above)."""
    weight, tension = weight_n_per_m(mass_g_per_m), np.asarray(tension_n, float)
    return tension * np.cosh(weight * np.asarray(span_m, float) / (2.0 * tension))


def tension_for_sag_n(mass_g_per_m: ArrayLike, span_m: ArrayLike, sag_m: ArrayLike) -> Floats:
    """Return the horizontal pull at which a wire hangs through by so much.

    Parameters
    ----------
    mass_g_per_m : array_like, g/m
    span_m : array_like, m
    sag_m : array_like, m
        Above 0 and at most ten times the span.

    Returns
    -------
    ndarray, N
        The inverse of `catenary_sag_m`, by Newton's method; NaN outside of the limits.
    """
    half = np.asarray(span_m, float) / 2.0
    depth = np.asarray(sag_m, float) / half
    depth = np.where((depth > 0) & (depth <= 20.0), depth, np.nan)
    slack = 2.0 * depth  # (cosh u − 1)/u is convex and above u/2: from here Newton's steps fall onto the root
    for _ in range(60):
        over = 2.0 * np.sinh(slack / 2.0) ** 2 / slack
        slack = slack - (over - depth) / ((np.sinh(slack) - over) / slack)
    return weight_n_per_m(mass_g_per_m) * half / slack


def height_lost_m(sag_m: ArrayLike) -> Floats:
    """Return by how much the centre of a half-wave current lies below the ends, 8/π² of the sag, in m."""
    return CURRENT_WEIGHT * np.asarray(sag_m, float)
