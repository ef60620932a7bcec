"""The union share of correlated normals of any correlation: importance sampling on a fixed lattice.

A normal i is taken, Zᵢ drawn beyond the level x and the rest of the direction at random. With r the radius, the
direction d reaches beyond x in normal j with probability sⱼ = P(r·|aⱼ| > x), aⱼ the cosine between d and row j of the
root of the correlation. The mean of v = max sⱼ / Σ sⱼ is the union share (Naiman & Priebe 2001, J. Comput. Graph.
Stat. 10:296; Owen, Maximov & Chertkov 2019, Electron. J. Stat. 13:231; the radius integrated as by Deák 1980, Numer.
Math. 35:35). As v is never above one, the relative error stays small however far out x is.

Where the union is nearly certain the plain mean of max sⱼ over all directions is better still.

Two kinds of control with known mean take most of the scatter away: h = Σᵢ<ⱼ min(sᵢ, sⱼ) / Σ sⱼ, whose mean follows
from the pairs (Bonferroni's second term), and v and h of a *twin*, a near correlation whose share is exact.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import chdtr, chdtrc, ndtr, ndtri

from antexp.mixed.arrays import Floats

# The estimated standard error of the share, relative, at which a level is done. It takes the lattice for random points;
# up to rank 4 the spread of sixteen shifted lattices was 0.2 to 0.8 of that, above it about as large (checked in
# tests/mixed/test_union_sampling.py).
TARGET = 4e-4
_GAIN_RANK, _GAIN = 4, 0.6
# Below the first level the adjusted p of any real family is no longer small, and half again the error does. Up to the
# second the union is nearly certain and plain directions serve better than directions beyond the level.
_LOW_LEVEL = 2.0
_CERTAIN_LEVEL = {1: -0.4, 2: 0.8}
_BLOCK = 2_048
_MOST_BLOCKS = 40
# The radial tail is computed on coarse steps of the cosine and read from fine cells; a cell is narrow enough for
# the tail to change by less than a hundredth in it.
_STEPS = 4_096
_CELLS = 4 * _STEPS
_GAUSS = np.polynomial.legendre.leggauss(24)


@dataclass(frozen=True)
class Twin:
    """A correlation near the asked one, with an exact share.

    Attributes
    ----------
    correlation : ndarray, shape (m, m)
    share : callable
        Takes levels (n,), returns shares (n,).
    """

    correlation: Floats
    share: Callable[[Floats], Floats]


def rank_root(correlation: Floats) -> Floats:
    """Return L with unit rows and LLᵀ = correlation.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)

    Returns
    -------
    ndarray, shape (m, rank)
        Eigenvalues below 1e-9 of the largest count as zero.
    """
    values, vectors = np.linalg.eigh(correlation)
    kept = values > 1e-9 * values[-1]
    root = vectors[:, kept] * np.sqrt(values[kept])
    return root / np.linalg.norm(root, axis=1, keepdims=True)


def radial_tail(cosine: Floats, level: float, rank: int, sides: int) -> Floats:
    """Return P(r·cosine > level) with r² chi-squared on `rank` degrees of freedom.

    Parameters
    ----------
    cosine : ndarray, any shape
        Cosine of a direction with a normal; two-sided its size counts.
    level : float
    rank : int
    sides : {1, 2}

    Returns
    -------
    ndarray, same shape
    """
    a = np.abs(cosine) if sides == 2 else cosine
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # a = 0 takes the other branch
        square = (level / a) ** 2
    if level > 0.0:
        return np.where(a > 0.0, chdtrc(rank, square), 0.0)
    return np.where(a < 0.0, chdtr(rank, square), 1.0)


def pair_share(correlation: Floats, level: float, sides: int) -> float:
    """Return Σᵢ<ⱼ P(Zᵢ and Zⱼ are beyond the level) / Σᵢ P(Zᵢ is beyond the level).

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
    level : float
    sides : {1, 2}

    Notes
    -----
    Plackett 1954, Biometrika 41:351: the derivative of the bivariate tail by the correlation is the density at its
    corner; with r = sin α it is exp(−x²/(1 + sin α))/2π.
    """
    r = correlation[np.triu_indices(len(correlation), 1)]
    if sides == 2:
        r = np.abs(r)
    node, weight = _GAUSS
    half = 0.5 * np.arcsin(np.clip(r, -1.0, 1.0))
    sine = np.sin(half[:, None] * (node + 1.0))
    with np.errstate(divide="ignore"):
        density = np.exp(-(level**2) / (1.0 + sine))
        if sides == 2:
            density -= np.exp(-(level**2) / (1.0 - sine))
    one = ndtr(-level)
    given = sides * one + (density @ weight) * half / (2.0 * np.pi) / one
    return float(given.sum() / len(correlation))


def sampled_share(
    correlation: Floats, levels: Floats, sides: int, twin: Twin | None = None, target: float = TARGET
) -> tuple[Floats, Floats]:
    """Return the union share at each level and its relative standard error.

    Parameters
    ----------
    correlation : ndarray, shape (m, m)
        Singular or not.
    levels : ndarray, shape (n,)
    sides : {1, 2}
    twin : Twin, optional
        Used when its correlation has the same rank.
    target : float
        Relative standard error at which a level is done.

    Returns
    -------
    share : ndarray, shape (n,)
    relative_error : ndarray, shape (n,)
    """
    root = rank_root(correlation)
    tables = [_Table(level, root.shape[1], len(root), sides) for level in levels]
    views = [_View(root, tables, sides)]
    if twin is not None:
        other = rank_root(twin.correlation)
        if other.shape == root.shape:
            left, _, right = np.linalg.svd(other.T @ root)
            other = other @ (left @ right)
            views.append(_View(other, tables, sides, twin.share(levels)))
    width = 2 * len(views) + 1
    products = np.zeros((len(levels), width, width))
    share, error = np.ones(len(levels)), np.full(len(levels), np.inf)
    gain = _GAIN if root.shape[1] <= _GAIN_RANK else 1.0
    enough = np.where(levels < _LOW_LEVEL, 1.5 * target, target)
    active = list(range(len(levels)))
    for block in range(_MOST_BLOCKS):
        _add_block(block, views, active, products)
        for row in active:
            share[row], error[row] = _regress(products[row])
            error[row] *= gain
        active = [row for row in active if error[row] > enough[row]]
        if not active:
            break
    return share, error


def _add_block(block: int, views: list[_View], active: list[int], products: Floats) -> None:
    """Add the cross-products of one block of lattice points to those of every active level."""
    count, rank = views[0].root.shape
    u, rest = _points(block, rank)
    component = (np.arange(_BLOCK) + block * _BLOCK) % count
    for view in views:
        view.turn(rest, component)
    for row in active:
        z = -ndtri(u * ndtr(-views[0].tables[row].level))
        design = np.column_stack([np.ones(_BLOCK), *(column for view in views for column in view.columns(row, z))])
        products[row] += design.T @ design


def _regress(products: Floats) -> tuple[float, float]:
    """Return the mean of v given its controls at their known means, and its relative standard error."""
    order = [0, *range(2, len(products))]  # column 1 is v, the others are controls with mean zero
    normal, target = products[np.ix_(order, order)], products[order, 1]
    coefficient = np.linalg.lstsq(normal, target, rcond=1e-12)[0]
    count = products[0, 0]
    scatter = max(products[1, 1] - float(coefficient @ target), 0.0) / count
    return float(coefficient[0]), float(np.sqrt(scatter / count) / coefficient[0])


class _Table:
    """The radial tail at one level, in cells of the cosine, up to a factor."""

    def __init__(self, level: float, rank: int, count: int, sides: int) -> None:
        step = np.linspace(0.0 if sides == 2 else -1.0, 1.0, _STEPS + 1)
        tail = radial_tail(step, level, rank, sides)
        centre = step[0] + (np.arange(_CELLS) + 0.5) * ((1.0 - step[0]) / _CELLS)
        self.level = level
        self.certain = level <= _CERTAIN_LEVEL[sides]
        self.in_cells = np.interp(centre, step, tail / tail[-1]).astype(np.float32)
        self.to_share = tail[-1] / (sides * count * ndtr(-level))


class _View:
    """One correlation, the asked one or the twin, seen from the same lattice points."""

    def __init__(self, root: Floats, tables: list[_Table], sides: int, exact: Floats | None = None) -> None:
        self.root = root
        self.tables = tables
        self.two_sided = sides == 2
        self.exact = np.zeros(len(tables)) if exact is None else exact
        correlation = np.clip(root @ root.T, -1.0, 1.0)
        self.pairs = [0.0 if table.certain else pair_share(correlation, table.level, sides) for table in tables]
        self.correlation = correlation.astype(np.float32)
        self.sums = np.column_stack([np.ones(len(root)), np.arange(len(root))[::-1]]).astype(np.float32)

    def turn(self, rest: Floats, component: NDArray[np.intp]) -> None:
        """Take the directions of a block: their projections, with and without the chosen normal's own part."""
        self.plain = (rest @ self.root.T).astype(np.float32)
        own = self.plain[np.arange(len(rest)), component][:, None]
        self.slope = self.correlation[component]
        self.base = self.plain - own * self.slope
        self.length_square = np.einsum("ij,ij->i", rest, rest)
        self.base_square = np.maximum(self.length_square - own[:, 0].astype(float) ** 2, 0.0)

    def columns(self, row: int, z: Floats) -> tuple[Floats, Floats]:
        """Return v (the twin's less its exact mean) and the control h less its mean, one entry a point."""
        table = self.tables[row]
        if table.certain:
            furthest = (np.abs(self.plain) if self.two_sided else self.plain).max(axis=1)
            tail = table.in_cells.take(self._cell(furthest / np.sqrt(self.length_square)), mode="clip")
            return tail * table.to_share - self.exact[row], np.zeros(len(z))
        length = np.sqrt(self.base_square + z * z)
        cosine = self.base * (1.0 / length).astype(np.float32)[:, None]
        cosine += self.slope * (z / length).astype(np.float32)[:, None]
        tail = table.in_cells.take(self._cell(cosine), mode="clip")
        tail.sort(axis=1)
        total, pairs = (tail @ self.sums).astype(float).T
        return tail[:, -1] / total - self.exact[row], pairs / total - self.pairs[row]

    def _cell(self, cosine: Floats) -> NDArray[np.int32]:
        """Return the cells of cosines, which are used up; a cosine of 1 lands one too high, for the reader to clip."""
        if self.two_sided:
            np.abs(cosine, out=cosine)
        else:
            cosine += np.float32(1.0)
        cosine *= np.float32(_CELLS if self.two_sided else _CELLS // 2)
        return cosine.astype(np.int32)


@lru_cache(maxsize=_MOST_BLOCKS)
def _points(block: int, rank: int) -> tuple[Floats, Floats]:
    """Return one block of a folded Kronecker lattice: uniforms (n,) for Zᵢ and normals (n, rank) for the direction.

    Multiples of the square roots of primes (Richtmyer 1951; Genz & Bretz 2002, J. Comput. Graph. Stat. 11:950).
    """
    primes: list[int] = []
    candidate = 2
    while len(primes) < rank + 1:
        if all(candidate % prime for prime in primes):
            primes.append(candidate)
        candidate += 1
    index = np.arange(1, _BLOCK + 1)[:, None] + block * _BLOCK
    u = index * (np.sqrt(primes) % 1.0)
    u -= np.floor(u)
    u = np.clip(1.0 - np.abs(2.0 * u - 1.0), 1e-12, 1.0 - 1e-12)
    return u[:, 0], ndtri(u[:, 1:])
