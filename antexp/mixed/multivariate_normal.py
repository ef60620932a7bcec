"""The largest of several correlated normals: P(some Zᵢ is beyond x) for any correlation, the same on every call.

The union share (see ``factor_correlation``) is tabulated once for a correlation and interpolated; the multivariate t
needs nothing else of the correlation. One-factor and all-pairs correlations are exact, two normals and other
correlations of rank 2 are integrated over the half circle, and the rest is importance sampling of a union on a fixed
lattice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline
from scipy.special import chdtr, chdtrc, ndtr, ndtri

from antexp.mixed.factor_correlation import (
    is_all_pairs,
    one_factor_correlation,
    one_factor_loadings,
    one_factor_share,
    range_share,
)

Array = NDArray[np.float64]

# Steps of the table: the log share bends on the scale of one standard deviation; beyond 12 it is flat to 1e-3 for
# every correlation that is not a duplicate, and the tail is below 1e-32.
_LEVELS_TWO_SIDED = np.r_[np.arange(0.0, 5.0, 0.25), np.arange(5.0, 9.0, 0.5), 9.0, 10.0, 11.0, 12.0]
_LEVELS_ONE_SIDED = np.r_[np.arange(-6.0, 0.0, 0.5), _LEVELS_TWO_SIDED]
_SAME = 1e-9
_EXACT = 1e-6
_LATTICE_POINTS = 16_384
_TABLE_CELLS = 4_096
_ANGLES = 8_192


@dataclass(frozen=True)
class LargestNormal:
    """The distribution of the largest of correlated standard normals.

    Attributes
    ----------
    count : int
        Number of distinct normals; duplicates (correlation 1, or ±1 when two-sided) are one.
    sides : {1, 2}
        1: the largest Zᵢ; 2: the largest absolute Zᵢ.
    route : str
        How the table was made: ``one normal``, ``one factor``, ``all pairs``, ``circle`` or ``lattice``.
    log_share : CubicSpline or None
        Log of the union share against the level; None for one normal.
    lowest, highest : float
        Ends of the table.
    """

    count: int
    sides: int
    route: str
    log_share: CubicSpline | None
    lowest: float
    highest: float

    def share(self, x: Array) -> Array:
        """Return P(some Zᵢ is beyond x) / Σᵢ P(Zᵢ is beyond x).

        Parameters
        ----------
        x : ndarray, any shape

        Returns
        -------
        ndarray, same shape
        """
        if self.log_share is None:
            return np.ones_like(x)
        inside = np.exp(np.minimum(self.log_share(np.clip(x, self.lowest, self.highest)), 0.0))
        # Below the table every normal is beyond x, so the union is certain.
        return np.where(x < self.lowest, 1.0 / (self.sides * self.count * ndtr(-np.minimum(x, 0.0))), inside)

    def tail(self, x: Array) -> Array:
        """Return P(some Zᵢ is beyond x).

        Parameters
        ----------
        x : ndarray, any shape

        Returns
        -------
        ndarray, same shape
        """
        return np.minimum(self.sides * self.count * ndtr(-x) * self.share(x), 1.0)


def largest_normal(correlation: Array, sides: int) -> LargestNormal:
    """Return the distribution of the largest of normals with this correlation; the last few are remembered.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        A correlation matrix, singular or not (already checked by the caller).
    sides : {1, 2}

    Returns
    -------
    LargestNormal
    """
    return _remembered(np.ascontiguousarray(correlation, dtype=float).tobytes(), len(correlation), sides)


@lru_cache(maxsize=128)
def _remembered(buffer: bytes, m: int, sides: int) -> LargestNormal:
    """Tabulate the union share of one correlation."""
    correlation = _without_duplicates(np.frombuffer(buffer).reshape(m, m), sides)
    count = len(correlation)
    if count == 1:
        return LargestNormal(1, sides, "one normal", None, 0.0, 0.0)
    levels = _LEVELS_TWO_SIDED if sides == 2 else _LEVELS_ONE_SIDED
    route, share = _table(correlation, levels, sides)
    return LargestNormal(count, sides, route, CubicSpline(levels, np.log(share)), levels[0], levels[-1])


def _without_duplicates(correlation: Array, sides: int) -> Array:
    """Drop every normal that is the same (or, two-sided, the opposite) of an earlier one."""
    match = np.abs(correlation) if sides == 2 else correlation
    twin = np.tril(match > 1.0 - _SAME, -1).any(axis=1)
    return correlation[np.ix_(~twin, ~twin)]


def _table(correlation: Array, levels: Array, sides: int) -> tuple[str, Array]:
    """Choose the route for a correlation of at least two distinct normals and return its shares."""
    loadings = one_factor_loadings(correlation)
    if np.max(np.abs(one_factor_correlation(loadings) - correlation)) <= _EXACT:
        return "one factor", one_factor_share(levels, loadings, sides)
    means = is_all_pairs(correlation) if sides == 2 else 0
    if means:
        return "all pairs", range_share(levels, means)
    root = _root(correlation)
    if root.shape[1] == 2:
        return "circle", _circle_share(root, levels, sides)
    return "lattice", _lattice_share(root, levels, sides)


def _root(correlation: Array) -> Array:
    """Return L (m, rank) with unit rows and LLᵀ = correlation."""
    values, vectors = np.linalg.eigh(correlation)
    kept = values > 1e-9 * values[-1]
    root = vectors[:, kept] * np.sqrt(values[kept])
    return root / np.linalg.norm(root, axis=1, keepdims=True)


def _radial_tail(a: Array, level: float, rank: int) -> Array:
    """Return P(r·a > level) with r² chi-squared on `rank` degrees of freedom, a the cosine of a direction."""
    with np.errstate(divide="ignore", invalid="ignore"):  # a = 0 takes the other branch
        square = (level / a) ** 2
    if level > 0.0:
        return np.where(a > 0.0, chdtrc(rank, square), 0.0)
    return np.where(a < 0.0, chdtr(rank, square), 1.0)


def _circle_share(root: Array, levels: Array, sides: int) -> Array:
    """Average the radial tail over equally spaced directions of the plane."""
    angle = (np.arange(_ANGLES) + 0.5) * (2.0 * np.pi / _ANGLES)
    cosine = np.c_[np.cos(angle), np.sin(angle)] @ root.T
    furthest = (np.abs(cosine) if sides == 2 else cosine).max(axis=1)
    tail = np.array([_radial_tail(furthest, level, 2).mean() for level in levels])
    return tail / (sides * len(root) * ndtr(-levels))


def _lattice_share(root: Array, levels: Array, sides: int) -> Array:
    """Average the union share over directions drawn where at least one normal is beyond the level.

    A component i is taken, Zᵢ drawn beyond x, the rest of the direction at random; the share of the direction is
    (largest radial tail)/(sum of radial tails), which is never above one, so the relative error stays small however
    far out x is (Naiman & Priebe 2001, J. Comput. Graph. Stat. 10:296; Owen, Maximov & Chertkov 2019, Electron. J.
    Stat. 13:231; the radius is integrated exactly as in Deák 1980, Numer. Math. 35:35).
    """
    m, rank = root.shape
    u = _lattice(_LATTICE_POINTS, rank + 1)
    component = np.arange(_LATTICE_POINTS) % m
    chosen = root[component]
    rest = ndtri(u[:, 1:])
    rest -= np.einsum("ij,ij->i", rest, chosen)[:, None] * chosen
    base, slope = rest @ root.T, (root @ root.T)[component]
    square = np.einsum("ij,ij->i", rest, rest)
    grid = np.linspace(-1.0, 1.0, 2 * _TABLE_CELLS + 1)
    share = np.empty(len(levels))
    for row, level in enumerate(levels):
        z = -ndtri(u[:, 0] * ndtr(-level))
        cosine = (base + z[:, None] * slope) / np.sqrt(square + z * z)[:, None]
        if sides == 2:
            cosine = np.abs(cosine)
        tail = _interpolate(cosine, _radial_tail(grid, level, rank))
        share[row] = np.mean(tail.max(axis=1) / tail.sum(axis=1))
    return share


def _interpolate(cosine: Array, table: Array) -> Array:
    """Interpolate linearly in a table over equal cells of [−1, 1]; np.interp would search each cell."""
    place = (cosine + 1.0) * _TABLE_CELLS
    cell = np.minimum(place.astype(np.int32), 2 * _TABLE_CELLS - 1)
    return table[cell] + (place - cell) * np.diff(table)[cell]


@lru_cache(maxsize=8)
def _lattice(points: int, dimension: int) -> Array:
    """Return a Kronecker lattice of square roots of primes, folded (Richtmyer 1951; Genz & Bretz 2002)."""
    primes: list[int] = []
    candidate = 2
    while len(primes) < dimension:
        if all(candidate % prime for prime in primes):
            primes.append(candidate)
        candidate += 1
    u = (np.arange(1, points + 1)[:, None] * (np.sqrt(primes) % 1.0)) % 1.0
    folded = np.clip(1.0 - np.abs(2.0 * u - 1.0), 1e-12, 1.0 - 1e-12)
    folded.flags.writeable = False
    return folded
