"""The union share of up to fifteen correlated normals, as a sum of disjoint events integrated on a lattice.

Some normal is beyond the level exactly when one of them is the first to be. So the union share is the mean over i of
P(no earlier j is beyond, given that i is). Each is a chain of conditional normals (Genz 1992, J. Comput. Graph. Stat.
1:141), a smooth function of uniforms, which a rank-1 lattice integrates far better than scattered points would.
Every term is at most one, so that the relative error stays small however far out the level is.

The lattice is folded, so that the function need not be periodic, and taken several times with fixed shifts, whose
spread tells the error (Cranley & Patterson 1976, SIAM J. Numer. Anal. 13:904). The normal distribution and its inverse
are read from fine cells: what a cell is off, at most 2e-4, is a thousandth of that in the mean over a lattice.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from antexp.mixed.arrays import Floats

Single = NDArray[np.float32]

MOST_NORMALS = 15

# Points a copy, and multipliers found component by component for weights 1/j² (Sloan & Reztsov 2002, Math. Comp.
# 71:263); tests/mixed/test_first_beyond.py finds them again.
LATTICES = {
    256: (1, 75, 97, 47, 41, 55, 17, 65, 89, 67, 39, 13, 103, 69),
    1024: (1, 275, 167, 403, 317, 181, 103, 297, 49, 193, 495, 449, 395, 259),
    2048: (1, 791, 591, 957, 107, 177, 753, 347, 257, 739, 405, 309, 373, 441),
}
# Estimated standard error of the share, relative, at which a lattice is enough. A few shifts know their own spread
# roughly: over forty correlations the first lattice was off by 4e-4 at most where it claimed 1e-4.
ENOUGH = {256: 1e-4, 1024: 1e-3}
# Of a ratio most of it cancels.
_ENOUGH_FOR_RATIOS = 2e-4
_SHIFTS = 4
# Correlations are worked on so many places of the lattice at a time.
_MOST_PLACES = 60_000
# Fixed, but scattered: multiples of roots of primes lie so evenly that their spread understates the error by far.
_SHIFT = np.random.default_rng(20).random((MOST_NORMALS - 1, _SHIFTS))
# A conditional variance below this is none: the normal follows from earlier ones.
_FOLLOWS = 1e-8
_CELLS = 16_384
_REACH = 8.0
_PER_UNIT = _CELLS / (2.0 * _REACH)
_MIDDLE = np.float32(_CELLS / 2)
_CENTRES = (np.arange(_CELLS) + 0.5) / _CELLS
_BELOW = ndtr((2.0 * _CENTRES - 1.0) * _REACH).astype(np.float32)
_POINT = ndtri(_CENTRES).astype(np.float32)


@dataclass(frozen=True)
class _Chain:
    """One normal i and the earlier ones given it, of N correlations; in cells of the normal distribution.

    Attributes
    ----------
    means : ndarray, shape (N, j, j)
        Row k: what normal i and the independent parts of the k normals before add to the mean of normal k, over its
        own conditional standard deviation.
    widths : ndarray, shape (N, j)
        Cells a unit of level is, over the same.
    """

    means: Single
    widths: Single


def first_beyond_share(correlation: Floats, levels: Floats, sides: int) -> tuple[Floats, Floats]:
    """Return the union share at each level and its relative standard error.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        2 ≤ m ≤ `MOST_NORMALS`.
    levels : ndarray, shape (n,)
        Not negative when two-sided.
    sides : {1, 2}

    Returns
    -------
    share : ndarray, shape (n,)
    relative_error : ndarray, shape (n,)
    """
    share, error, _ = _on_enough_points(_chains(correlation[None], correlation), levels, sides, 0.0)
    return share[0], error[0]


def log_share_ratios(correlations: Floats, like: Floats, levels: Floats, sides: int) -> Floats:
    """Return the log of each correlation's union share over that of one they are like.

    All are taken on one lattice in one order of the normals, so that most of its error cancels.

    Parameters
    ----------
    correlations : ndarray, shape (N, m, m)
        2 ≤ m ≤ `MOST_NORMALS`.
    like : ndarray, shape (m, m)
    levels : ndarray, shape (n,)
        Not negative when two-sided.
    sides : {1, 2}

    Returns
    -------
    ndarray, shape (N, n)
    """
    base, _, points = _on_enough_points(_chains(like[None], like), levels, sides, _ENOUGH_FOR_RATIOS)
    ratios = np.empty((len(correlations), len(levels)))
    some = max(1, _MOST_PLACES // (len(levels) * _SHIFTS * points))
    for start in range(0, len(correlations), some):
        rows = slice(start, start + some)
        ratios[rows] = np.log(_share(_chains(correlations[rows], like), levels, sides, points)[0] / base)
    return ratios


def _on_enough_points(
    chains: list[_Chain], levels: Floats, sides: int, least: float
) -> tuple[Floats, Floats, int]:
    """Return shares, their errors and the points a copy, on the first lattice that is enough, or on the finest."""
    *coarse, finest = LATTICES
    for points in coarse:
        share, error = _share(chains, levels, sides, points)
        if error.max() <= max(ENOUGH[points], least):
            return share, error, points
    return *_share(chains, levels, sides, finest), finest


def _chains(correlations: Floats, like: Floats) -> list[_Chain]:
    """Put the normals in order, the least correlated of `like` first, and prepare each but the first.

    In its chain each normal has the earlier ones in order of their correlation with it, the largest first.
    """
    order = np.argsort(np.sum(like**2, axis=1), kind="stable")
    r, like = correlations[:, order[:, None], order], like[np.ix_(order, order)]
    chains = []
    for i in range(1, len(like)):
        earlier = np.argsort(-np.abs(like[i, :i]), kind="stable")
        slope = r[:, i, earlier]
        root = _roots(r[:, earlier[:, None], earlier] - slope[:, :, None] * slope[:, None, :])
        widths = _PER_UNIT / np.einsum("nkk->nk", root)
        means = np.concatenate([slope[:, :, None], root[:, :, :-1]], axis=2) * widths[:, :, None]
        chains.append(_Chain(means.astype(np.float32), widths.astype(np.float32)))
    return chains


def _roots(covariances: Floats) -> Floats:
    """Return the lower triangular roots; a row that follows from earlier ones gets next to nothing of its own."""
    size = covariances.shape[1]
    roots = np.zeros_like(covariances)
    for k in range(size):
        rest = covariances[:, k:, k] - np.einsum("nij,nj->ni", roots[:, k:, :k], roots[:, k, :k])
        own = rest[:, :1] > _FOLLOWS
        roots[:, k:, k] = np.where(own, rest / np.sqrt(np.where(own, rest[:, :1], 1.0)), 0.0)
        roots[:, k, k] = np.where(own[:, 0], roots[:, k, k], np.sqrt(_FOLLOWS))
    return roots


def _share(chains: list[_Chain], levels: Floats, sides: int, points: int) -> tuple[Floats, Floats]:
    """Return the shares, shape (N, n), and their relative standard errors from one lattice."""
    u, size = _uniforms(points, len(chains)), len(chains[0].widths)
    normals = np.empty((size, len(chains) + 1, len(levels) * u.shape[1]), dtype=np.float32)
    normals[:, 0] = -ndtri(np.outer(ndtr(-levels), u[0])).ravel()
    level = np.repeat(levels, u.shape[1]).astype(np.float32)
    cells = np.tile((u[1:] * _CELLS).astype(np.float32), (1, len(levels)))
    total = np.ones((size, len(levels), _SHIFTS))
    for chain in chains:
        within = _none_beyond(chain, level, normals, cells, sides)
        total += within.reshape(size, len(levels), _SHIFTS, points).mean(axis=3, dtype=float)
    share = total.mean(axis=2)
    error = total.std(axis=2, ddof=1) / np.sqrt(_SHIFTS) / share
    return share / (len(chains) + 1), error


def _none_beyond(chain: _Chain, level: Single, normals: Single, cells: Single, sides: int) -> Single:
    """Return P(no earlier normal is beyond, given normal i), factor by factor along the chain.

    Row 0 of `normals`, shape (N, m, places), holds normal i, the other rows are overwritten.
    """
    count = chain.widths.shape[1]
    within = np.ones((len(normals), level.size), dtype=np.float32)
    for k in range(count):
        mean = (chain.means[:, k : k + 1, : k + 1] @ normals[:, : k + 1])[:, 0]
        bound = level * chain.widths[:, k, None]
        share = _below(bound - mean)
        bottom = _below(-bound - mean) if sides == 2 else None
        if bottom is not None:
            share -= bottom
        within *= share
        if k < count - 1:
            place = share * cells[k]
            if bottom is not None:
                place += bottom * np.float32(_CELLS)
            normals[:, k + 1] = _POINT.take(place.astype(np.int32), mode="clip")
    return within


def _below(place: Single) -> Single:
    """Return the normal distribution at places given in cells from the middle; they are used up."""
    place += _MIDDLE
    return _BELOW.take(place.astype(np.int32), mode="clip")


@lru_cache(maxsize=32)
def _uniforms(points: int, dimensions: int) -> Floats:
    """Return the folded lattice with its shifts one after the other, shape (dimensions, shifts · points)."""
    step = np.outer(LATTICES[points][:dimensions], np.arange(points)) % points / points
    u = (step[:, None, :] + _SHIFT[:dimensions, :, None]).reshape(dimensions, -1) % 1.0
    return np.clip(1.0 - np.abs(2.0 * u - 1.0), 1e-12, 1.0 - 1e-12)
