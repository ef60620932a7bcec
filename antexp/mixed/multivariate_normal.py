"""The largest of several correlated normals: P(some Zᵢ is beyond x) for any correlation, the same on every call.

The union share (see ``factor_correlation``) is tabulated once for a correlation and interpolated; the multivariate t
needs nothing else of the correlation. One-factor and all-pairs correlations are exact, other correlations of rank 2 are
integrated over the circle; up to fifteen normals are integrated one after the other on a fixed lattice
(``first_beyond``), and the rest is importance sampling of a union on a fixed lattice (``union_sampling``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.special import ndtr

from antexp.mixed.arrays import Floats
from antexp.mixed.factor_correlation import (
    nearest_all_pairs,
    one_factor_correlation,
    one_factor_loadings,
    one_factor_share,
    range_share,
)
from antexp.mixed.first_beyond import MOST_NORMALS, first_beyond_share
from antexp.mixed.union_sampling import Twin, radial_tail, rank_root, sampled_share

# Levels of the table: the log share bends on the scale of one standard deviation; beyond 12 it hardly moves, and the
# tail is below 1e-32. The lattice makes do with fewer levels; where a near correlation has an exact share it only
# tabulates what sets the two apart. Trials with twice as many levels moved the share by less than 5e-4 where a p-value
# is below 0.5.
_UPPER = np.r_[np.arange(0.0, 2.5, 0.125), np.arange(2.5, 5.0, 0.25), np.arange(5.0, 9.0, 0.5), 9.0, 10.0, 11.0, 12.0]
_LEVELS = {1: np.r_[np.arange(-6.0, 0.0, 0.25), _UPPER], 2: _UPPER}
_FROM_ONE = np.array([1.375, 1.75, 2.125, 2.5, 3.0, 3.5, 4.25, 5.25, 6.5, 8.5, 12.0])
_FEW_LEVELS = np.r_[1.375:2.6:0.375, 3.0, 3.5, 4.25, 5.25, 6.5, 8.25, 10.0, 12.0]
_FIRST_LEVELS = {
    1: np.r_[-6.0, -5.0, -4.0, -3.0, -2.2, -1.5, -0.9, -0.3, 0.2, 0.6, 1.0, _FEW_LEVELS],
    2: np.r_[0.0, 0.2, 0.45, 0.75, 1.05, _FEW_LEVELS],
}
_LATTICE_LEVELS = {1: np.r_[-6.0, -4.0, np.arange(-3.0, 1.1, 0.5), _FROM_ONE], 2: np.r_[0.0, 0.25, 0.5, 1.0, _FROM_ONE]}
_NEAR_LEVELS = {1: np.r_[-6.0, -3.0, -1.5, -0.5, 0.25, 1.0, _FROM_ONE], 2: np.r_[0.0, 0.75, _FROM_ONE]}
_SAME = 1e-9
_EXACT = 1e-6
# A one-factor or all-pairs correlation this near, entry by entry, is worth sampling beside the asked one; up to the
# second bound it is at least a better footing for the interpolation than none.
_NEAR = 0.2
_ALIKE = 0.45
_ANGLES = 8_192
# So near, measured by how far the nearest pair is from being one, sampling beside the twin is quick and better still.
_CLOSE = 0.02


@dataclass(frozen=True, eq=False)
class LargestNormal:
    """The distribution of the largest of correlated standard normals; equal only to itself, for it is remembered.

    Attributes
    ----------
    count : int
        Number of distinct normals; duplicates (correlation 1, or ±1 when two-sided) are one.
    sides : {1, 2}
        1: the largest Zᵢ; 2: the largest absolute Zᵢ.
    route : str
        How the table was made: ``one normal``, ``one factor``, ``all pairs``, ``circle`` or ``lattice``.
    relative_error : float
        Largest estimated relative standard error of the share; 0 for the exact routes.
    log_share : CubicSpline or None
        Log of the union share against the level; None for one normal.
    lowest, highest : float
        Ends of the table.
    """

    count: int
    sides: int
    route: str
    relative_error: float
    log_share: CubicSpline | None
    lowest: float
    highest: float

    def share(self, x: Floats) -> Floats:
        """Return P(some Zᵢ is beyond x) / Σᵢ P(Zᵢ is beyond x), of the shape of x."""
        if self.log_share is None:
            return np.ones_like(x)
        inside = np.exp(np.minimum(self.log_share(np.clip(x, self.lowest, self.highest)), 0.0))
        # Below the table every normal is beyond x, so the union is certain.
        return np.where(x < self.lowest, 1.0 / (self.sides * self.count * ndtr(-np.minimum(x, 0.0))), inside)

    def tail(self, x: Floats) -> Floats:
        """Return P(some Zᵢ is beyond x), of the shape of x.

        By the lattice route values above 0.995 may ripple in the third digit; below, they fall.
        """
        return np.minimum(self.sides * self.count * ndtr(-x) * self.share(x), 1.0)


def largest_normal(correlation: Floats, sides: int) -> LargestNormal:
    """Return the distribution of the largest of normals with this correlation; the last few are remembered.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        A correlation matrix, singular or not (already checked by the caller).
    sides : {1, 2}
    """
    # Rounded, so that the same design with another scale of its errors is found again; 0.0 turns −0 into 0.
    return _remembered((np.round(correlation, 12) + 0.0).tobytes(), len(correlation), sides)


@lru_cache(maxsize=128)
def _remembered(buffer: bytes, m: int, sides: int) -> LargestNormal:
    """Tabulate the union share of one correlation."""
    correlation = _without_duplicates(np.frombuffer(buffer).reshape(m, m), sides)
    count = len(correlation)
    if count == 1:
        return LargestNormal(1, sides, "one normal", 0.0, None, 0.0, 0.0)
    levels = _LEVELS[sides]
    route, share, error = _table(correlation, levels, sides)
    return LargestNormal(count, sides, route, error, CubicSpline(levels, np.log(share)), levels[0], levels[-1])


def _without_duplicates(correlation: Floats, sides: int) -> Floats:
    """Drop every normal that is the same (or, two-sided, the opposite) of an earlier one."""
    match = np.abs(correlation) if sides == 2 else correlation
    twin = np.tril(match > 1.0 - _SAME, -1).any(axis=1)
    return correlation[np.ix_(~twin, ~twin)]


def _table(correlation: Floats, levels: Floats, sides: int) -> tuple[str, Floats, float]:
    """Choose the route for a correlation of at least two distinct normals; return its name, shares and error."""
    route, twin = _nearest_exact(correlation, sides)
    apart = float(np.max(np.abs(correlation - twin.correlation)))
    if apart <= _EXACT:
        return route, twin.share(levels), 0.0
    root = rank_root(correlation)
    if root.shape[1] <= 2:
        return "circle", _circle_share(root, levels, sides), 0.0
    if len(root) <= MOST_NORMALS and apart > _CLOSE * (1.0 - np.max(np.abs(np.triu(correlation, 1)))):
        coarse, alike = _FIRST_LEVELS[sides], _NEAR
        sampled, error = first_beyond_share(correlation, coarse, sides)
    else:
        coarse, alike = (_NEAR_LEVELS if apart <= _NEAR else _LATTICE_LEVELS)[sides], _ALIKE
        sampled, error = sampled_share(correlation, coarse, sides, twin if apart <= _NEAR else None)
    if apart > alike:
        share = np.exp(CubicSpline(coarse, np.log(sampled))(levels))
    else:
        share = twin.share(levels) * np.exp(CubicSpline(coarse, np.log(sampled / twin.share(coarse)))(levels))
    return "lattice", share, float(error.max())


def _nearest_exact(correlation: Floats, sides: int) -> tuple[str, Twin]:
    """Return the nearer of the one-factor and (two-sided) the all-pairs correlation, with the name of its route."""
    loadings = one_factor_loadings(correlation)
    factor = Twin(one_factor_correlation(loadings), lambda x: one_factor_share(x, loadings, sides))
    k, turned = nearest_all_pairs(correlation) if sides == 2 else (0, correlation)
    if k and np.max(np.abs(turned - correlation)) < np.max(np.abs(factor.correlation - correlation)):
        return "all pairs", Twin(turned, lambda x: range_share(x, k))
    return "one factor", factor


def _circle_share(root: Floats, levels: Floats, sides: int) -> Floats:
    """Average the radial tail over equally spaced directions of the plane."""
    angle = (np.arange(_ANGLES) + 0.5) * (2.0 * np.pi / _ANGLES)
    cosine = np.c_[np.cos(angle), np.sin(angle)][:, : root.shape[1]] @ root.T
    furthest = (np.abs(cosine) if sides == 2 else cosine).max(axis=1)
    tail = np.array([radial_tail(furthest, level, 2, sides).mean() for level in levels])
    return tail / (sides * len(root) * ndtr(-levels))
