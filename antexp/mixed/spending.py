"""Looks before the end: how much of the error may be spent at each, and the boundaries that follow (section 10)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import brentq
from scipy.special import ndtr, ndtri

from antexp.mixed.arrays import Floats

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(120)
_NEVER = 12.0


def spent(fraction: ArrayLike, alpha: float) -> Floats:
    """Return the error spent up to a fraction of the experiment, both sides together.

    Parameters
    ----------
    fraction : array_like
        Blocks done over blocks planned, 0 … 1.
    alpha : float
        Of the whole experiment.

    Notes
    -----
    O'Brien–Fleming type: α/2 on each side, each spent as 2 − 2Φ(z₁₋α/₄/√f); at f = 1 all of it.

    References
    ----------
    Lan & DeMets 1983, Biometrika 70:659.
    """
    done = np.clip(np.asarray(fraction, dtype=float), 0.0, 1.0)
    with np.errstate(divide="ignore"):
        return np.asarray(4.0 * ndtr(ndtri(alpha / 4.0) / np.sqrt(done)))


def increments(fractions: Sequence[float], alpha: float) -> Floats:
    """Return what each look may spend, shape (K,).

    Parameters
    ----------
    fractions : sequence of float
        Of the looks, rising; the last is usually 1.
    alpha : float

    Returns
    -------
    ndarray
        Adds up to alpha where the last fraction is 1. Limits at 1 − αₖ at each look hold together at 1 − alpha by
        the union bound, for any family and degrees of freedom.

    Raises
    ------
    ValueError
        Fractions that do not rise, or lie outside (0, 1].
    """
    looks = np.asarray(fractions, dtype=float)
    if looks.size == 0 or np.any(np.diff(looks) <= 0) or looks[0] <= 0 or looks[-1] > 1:
        raise ValueError(f"looks do not fit: got fractions {looks.tolist()}; allowed rising, above 0, at most 1")
    return np.diff(spent(looks, alpha), prepend=0.0)


def crossing_probabilities(fractions: Sequence[float], boundaries: Sequence[float]) -> Floats:
    """Return the chance that |Z| first reaches its boundary at each look when there is no gap, shape (K,).

    Parameters
    ----------
    fractions, boundaries : sequence of float, length K

    References
    ----------
    Armitage, McPherson & Rowe 1969, J. R. Stat. Soc. A 132:235 (the recursion).
    """
    found = np.empty(len(fractions))
    state = None
    for k, (time, bound) in enumerate(zip(fractions, boundaries, strict=True)):
        found[k] = _beyond(state, time, bound)
        state = _carried(state, time, bound)
    return found


def boundaries(fractions: Sequence[float], alpha: float) -> Floats:
    """Return the boundaries of |Z| that spend exactly what each look may, for one comparison with known scatter.

    Parameters
    ----------
    fractions : sequence of float, length K
    alpha : float

    Returns
    -------
    ndarray, shape (K,)
        Slightly nearer than the union bound's ±z(1 − αₖ/2): those need no joint distribution of the looks.
    """
    found = np.empty(len(fractions))
    state = None
    for k, (time, share) in enumerate(zip(fractions, increments(fractions, alpha), strict=True)):
        here = state
        found[k] = brentq(lambda b, t=time, s=here, a=share: _beyond(s, t, b) - a, 0.0, _NEVER, xtol=1e-10)
        state = _carried(here, time, found[k])
    return found


_State = tuple[Floats, Floats, float]


def _beyond(state: _State | None, time: float, bound: float) -> float:
    """Return the chance to be beyond the boundary at a time, not having been before."""
    edge = bound * np.sqrt(time)
    if state is None:
        return float(2.0 * ndtr(-bound))
    where, mass, before = state
    scale = np.sqrt(time - before)
    return float((mass * (ndtr((where - edge) / scale) + ndtr((-where - edge) / scale))).sum())


def _carried(state: _State | None, time: float, bound: float) -> _State:
    """Return the paths still inside at a time: nodes of Brownian motion and their mass."""
    edge = bound * np.sqrt(time)
    # far outside the bulk of the paths nodes would be wasted
    edge = min(edge, 9.0 * np.sqrt(time))
    where = edge * _NODES
    if state is None:
        density = np.exp(-0.5 * where**2 / time) / np.sqrt(2.0 * np.pi * time)
    else:
        old, mass, before = state
        step = time - before
        kernel = np.exp(-0.5 * (where[:, None] - old[None, :]) ** 2 / step) / np.sqrt(2.0 * np.pi * step)
        density = kernel @ mass
    return where, edge * _WEIGHTS * density, time
