"""Limits of a gap when every reading shows the same number: what the step alone allows (method section 9)."""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

from antexp.mixed.arrays import Floats

# Swap scatters from one that hides inside the step to one that hardly ever would, in steps.
_SCATTERS = np.geomspace(1e-3, 5.0, 80)[:, None, None]
_WHERE = np.linspace(-1.0, 0.0, 161)
_FARTHEST = 200.0


def flat_limit(counts: Floats, others: int, critical: float, degrees_of_freedom: float) -> float:
    """Return the largest gap, in steps, that goes with readings which are all the same.

    Parameters
    ----------
    counts : ndarray, shape (blocks, 2)
        Swaps of the two candidates in each block.
    others : int
        All other swaps.
    critical : float
        The family's critical value.
    degrees_of_freedom : float
        ν, swaps less fixed terms.

    Returns
    -------
    float
        At least 1.

    Notes
    -----
    The likelihood is 1 for every gap inside one step (no scatter, both candidates in the same cell). A larger gap puts
    one of the two outside the cell, and re-hanging must have brought each of its swaps back: the likelihood is the
    largest, over the scatter and each block's level, of the chance that all swaps fall into the cell. The limit is
    where t_LR of the interval likelihood reaches the critical value. Other candidates are given the cell's middle and
    drift is left out.
    """
    swaps = float(np.sum(counts)) + others
    limit = swaps * np.log1p(critical**2 / degrees_of_freedom)

    def excess(gap: float) -> float:
        return -2.0 * _log_likelihood(counts, others, gap) - limit

    if excess(1.0) >= 0:
        return 1.0
    return float(brentq(excess, 1.0, _FARTHEST, xtol=1e-4))


def _log_likelihood(counts: Floats, others: int, gap: float) -> float:
    """Return the largest log chance that every swap falls into the cell, the gap given in steps."""
    # the second candidate's level runs from where the first stands mid-cell to where it does itself
    first, second = _log_inside(gap * (_WHERE + 1.0)), _log_inside(gap * _WHERE)
    by_block = counts[:, 0][None, :, None] * first + counts[:, 1][None, :, None] * second
    best = by_block.max(axis=2).sum(axis=1)
    middle = _log_inside(np.zeros(1))[:, 0, 0]
    return float((best + others * middle).max())


def _log_inside(level: Floats) -> Floats:
    """Return the log chance that a swap at a level falls into the cell around 0, for every scatter."""
    upper, lower = (0.5 - level) / _SCATTERS, (-0.5 - level) / _SCATTERS
    # the tail that is not near one keeps its digits
    inside = np.where(level > 0, ndtr(upper) - ndtr(lower), ndtr(-lower) - ndtr(-upper))
    return np.log(np.maximum(inside, 1e-300))
