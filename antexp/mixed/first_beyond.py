"""The union share of up to a dozen correlated normals, as a sum of disjoint events integrated on a lattice.

Some normal is beyond the level exactly when one of them is the first to be. So the union share is the mean over i of
P(no earlier j is beyond, given that i is). Each is a chain of conditional normals (Genz 1992, J. Comput. Graph. Stat.
1:141), a smooth function of uniforms, which a rank-1 lattice integrates far better than scattered points would.
Every term is at most one, so that the relative error stays small however far out the level is.

The lattice is folded, so that the function need not be periodic, and taken several times with fixed shifts, whose
spread tells the error (Cranley & Patterson 1976, SIAM J. Numer. Anal. 13:904).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

Array = NDArray[np.float64]

MOST_NORMALS = 12
TARGET = 2e-4
"""Estimated standard error of the share, relative, at which a lattice is enough; the largest is the last."""

# Points a copy, and multipliers found component by component for weights 1/j² (Sloan & Reztsov 2002, Math. Comp.
# 71:263); tests/mixed/test_first_beyond.py finds them again.
LATTICES = {
    128: (1, 47, 19, 53, 11, 31, 25, 39, 15, 57, 17, 25),
    256: (1, 75, 97, 47, 41, 55, 17, 65, 89, 67, 39, 13),
    512: (1, 149, 113, 193, 31, 243, 163, 203, 69, 229, 41, 177),
}
_SHIFTS = 4
# About so many levels tell which lattice is enough.
_PILOT_LEVELS = 4
# Fixed, but scattered: multiples of roots of primes lie so evenly that their spread understates the error by far.
_SHIFT = np.random.default_rng(20).random((MOST_NORMALS, _SHIFTS))
# A conditional variance below this is none: the normal follows from earlier ones.
_FOLLOWS = 1e-10


@dataclass(frozen=True)
class _Chain:
    """One normal i and the earlier ones given it, the most correlated first.

    Attributes
    ----------
    slope : ndarray, shape (j,)
        Correlation of each earlier normal with i.
    root : ndarray, shape (j, j)
        Lower triangular root of their covariance given i.
    """

    slope: Array
    root: Array


def first_beyond_share(correlation: Array, levels: Array, sides: int) -> tuple[Array, Array]:
    """Return the union share at each level and its relative standard error.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        Of full rank, 2 ≤ m ≤ `MOST_NORMALS`.
    levels : ndarray, shape (n,)
        Not negative when two-sided.
    sides : {1, 2}

    Returns
    -------
    share : ndarray, shape (n,)
    relative_error : ndarray, shape (n,)
    """
    chains = _chains(correlation)
    few = levels[:: max(1, len(levels) // _PILOT_LEVELS)]
    enough = (points for points in LATTICES if _share(chains, few, sides, points)[1].max() <= TARGET)
    return _share(chains, levels, sides, next(enough, max(LATTICES)))


def _chains(correlation: Array) -> list[_Chain]:
    """Put the normals in order, the least correlated first, and prepare each but the first."""
    order = np.argsort(np.sum(correlation**2, axis=1), kind="stable")
    r = correlation[np.ix_(order, order)]
    chains = []
    for i in range(1, len(r)):
        earlier = np.argsort(-np.abs(r[i, :i]), kind="stable")
        slope = r[i, earlier]
        chains.append(_Chain(slope, _root(r[np.ix_(earlier, earlier)] - np.outer(slope, slope))))
    return chains


def _root(covariance: Array) -> Array:
    """Return the lower triangular root; a row that follows from earlier ones gets next to nothing of its own."""
    size = len(covariance)
    root = np.zeros((size, size))
    for k in range(size):
        rest = covariance[k:, k] - root[k:, :k] @ root[k, :k]
        root[k:, k] = rest / np.sqrt(rest[0]) if rest[0] > _FOLLOWS else 0.0
        root[k, k] = np.sqrt(max(rest[0], _FOLLOWS))
    return root


def _share(chains: list[_Chain], levels: Array, sides: int, points: int) -> tuple[Array, Array]:
    """Return the share and its relative standard error from one lattice."""
    u = _uniforms(points, len(chains))
    level = np.repeat(levels, u.shape[1])
    z = -ndtri(np.outer(ndtr(-levels), u[0])).ravel()
    total = np.ones((len(levels), _SHIFTS))
    for chain in chains:
        within = _none_beyond(chain, level, z, u[1:], sides)
        total += within.reshape(len(levels), _SHIFTS, points).mean(axis=2)
    share = total.mean(axis=1)
    error = total.std(axis=1, ddof=1) / np.sqrt(_SHIFTS) / share
    return share / (len(chains) + 1), error


def _none_beyond(chain: _Chain, level: Array, z: Array, u: Array, sides: int) -> Array:
    """Return P(no earlier normal is beyond, given that i is at z), factor by factor along the chain."""
    count, repeats = len(chain.slope), len(z) // u.shape[1]
    normals = np.empty((count, len(z)))
    within = np.ones(len(z))
    for k in range(count):
        own = chain.root[k, k]
        mean = (chain.slope[k] / own) * z
        if k:
            mean += (chain.root[k, :k] / own) @ normals[:k]
        bound = level / own
        top = ndtr(bound - mean)
        bottom = ndtr(-bound - mean) if sides == 2 else 0.0
        top -= bottom
        within *= top
        if k < count - 1:
            place = bottom + np.tile(u[k], repeats) * top
            normals[k] = ndtri(np.clip(place, 1e-300, 1.0 - 1e-16))
    return within


@lru_cache(maxsize=32)
def _uniforms(points: int, dimensions: int) -> Array:
    """Return the folded lattice with its shifts one after the other, shape (dimensions, shifts · points)."""
    step = np.outer(LATTICES[points][:dimensions], np.arange(points)) % points / points
    u = (step[:, None, :] + _SHIFT[:dimensions, :, None]).reshape(dimensions, -1) % 1.0
    return np.clip(1.0 - np.abs(2.0 * u - 1.0), 1e-12, 1.0 - 1e-12)
