"""What records of two terms share, the finer diagonal and the coarser of low rank, and where their search starts.

With one γ₁ for all records the coarser term is diagonal too (`Line`), so that a whole grid costs them little.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.search import SECOND_LOOK

STEP = 10.0**0.5
"""Ratio of one relative variance of `START` to the next."""

START = (0.0, *(0.01 * STEP**i for i in range(13)))
"""Relative variances tried first, of either term, in its own unit: up to 10⁴."""


@dataclass(frozen=True)
class Line:
    """One γ₁ for all records: along the coarser term they are diagonal.

    Attributes
    ----------
    free : int
        n − r.
    inverse : ndarray, shape (d,)
        D.
    turn : ndarray, shape (s, d)
        Directions of the coarser term, of variance 1 + γ₂ · weights.
    weights : ndarray, shape (s,)
    log_fine : float
        −log|D|.
    """

    free: int
    inverse: Floats
    turn: Floats
    weights: Floats
    log_fine: float

    def squares(self, coordinates: Floats, rest: Floats) -> tuple[Floats, Floats]:
        """Return the squares of the turned records, shape (s, N), and the sum of squares they leave, shape (N,)."""
        squares = (self.turn @ coordinates) ** 2
        return squares, rest + np.maximum(self.inverse @ coordinates**2 - squares.sum(axis=0), 0.0)

    def deviance(self, coordinates: Floats, rest: Floats, coarse: Floats) -> Floats:
        """Return the deviance of each record, coordinates (d, N), at its own γ₂, shape (N,)."""
        squares, left = self.squares(coordinates, rest)
        variance = 1.0 + self.weights[:, None] * coarse
        quadratic = left + (squares / variance).sum(axis=0)
        return self.free * np.log(quadratic) + np.log(variance).sum(axis=0) + self.log_fine

    def deviances(self, coordinates: Floats, rest: Floats, coarse: Floats) -> Floats:
        """Return the deviance of every record at each of some γ₂, shape (N, g)."""
        squares, left = self.squares(coordinates, rest)
        variance = 1.0 + coarse[:, None] * self.weights
        quadratic = left[:, None] + squares.T @ (1.0 / variance).T
        return self.free * np.log(quadratic) + (np.log(variance).sum(axis=1) + self.log_fine)


@dataclass(frozen=True)
class LowRank:
    """What the records of one design share.

    Attributes
    ----------
    free : int
        n − r.
    fine, coarse : int
        Position of the two terms in γ.
    values : ndarray, shape (d,)
        λ of the finer term.
    F : ndarray, shape (d, s)
        Of full column rank.
    unit : ndarray, shape (2,)
        Natural size of each γ.
    """

    free: int
    fine: int
    coarse: int
    values: Floats
    F: Floats
    unit: Floats

    @cached_property
    def starts_of_search(self) -> tuple[Line, ...]:
        """Lines along the coarser term at the γ₁ of `START`."""
        return tuple(self._line(g * self.unit[self.fine]) for g in START)

    @cached_property
    def second_look(self) -> tuple[Line, ...]:
        """Lines along the coarser term at the γ₁ of `SECOND_LOOK`."""
        return tuple(self._line(g * self.unit[self.fine]) for g in SECOND_LOOK)

    def _line(self, fine: float) -> Line:
        """Turn the design to where FFᵀ is diagonal beside I + γ₁λ."""
        variance = 1.0 + fine * self.values
        root = np.sqrt(variance)
        left, singular, _ = np.linalg.svd(self.F / root[:, None], full_matrices=False)
        log_fine = float(np.log(variance).sum())
        return Line(self.free, 1.0 / variance, (left / root[:, None]).T, singular**2, log_fine)

    @property
    def rank(self) -> int:
        """Columns of F, s."""
        return int(self.F.shape[1])

    @cached_property
    def products(self) -> Floats:
        """Products of two columns of F, the upper triangle row by row, shape (s(s + 1)/2, d)."""
        i, j = np.triu_indices(self.rank)
        return np.ascontiguousarray((self.F[:, i] * self.F[:, j]).T)

    @cached_property
    def squares(self) -> Floats:
        """All products of two columns of F, shape (d, s²)."""
        return (self.F[:, :, None] * self.F[:, None, :]).reshape(self.F.shape[0], -1)

    @cached_property
    def starts(self) -> list[int]:
        """Where each row of an upper triangle starts, and its end."""
        return [0, *np.cumsum(np.arange(self.rank, 0, -1)).tolist()]

    def unfold(self, upper: Floats) -> Floats:
        """Return whole symmetric matrices, shape (s, s, N), of upper triangles, shape (s(s + 1)/2, N)."""
        whole = np.empty((self.rank, self.rank, upper.shape[1]))
        for i, start in enumerate(self.starts[:-1]):
            whole[i, i:] = whole[i:, i] = upper[start : self.starts[i + 1]]
        return whole

    def whole_gram(self, weights: Floats) -> Floats:
        """Return Fᵀ diag(w) F for each column of weights, shape (d, N), with the records first: (N, s, s)."""
        return (weights.T @ self.squares).reshape(weights.shape[1], self.rank, self.rank)


def best_of_lines(shared: LowRank, coordinates: Floats, rest: Floats) -> Floats:
    """Return where each record starts: the best of a grid over both terms.

    Parameters
    ----------
    shared : LowRank
    coordinates : ndarray, shape (d, N)
    rest : ndarray, shape (N,)

    Returns
    -------
    ndarray, shape (N, 2)
        Off the edges the best point is moved to the least value of a parabola through its neighbours.
    """
    steps, count = np.asarray(START), len(START)
    coarse = steps * shared.unit[shared.coarse]
    lines = [line.deviances(coordinates, rest, coarse) for line in shared.starts_of_search]
    flat = np.stack(lines, axis=1).reshape(rest.size, -1)
    best = flat.argmin(axis=1)
    place = np.stack([best // count, best % count])
    inside = (place > 1) & (place < count - 1)
    shift = _least_of_parabola(flat, best, inside, count)
    gamma = np.empty((rest.size, 2))
    gamma[:, shared.fine], gamma[:, shared.coarse] = steps[place] * STEP**shift
    return gamma * shared.unit


def _least_of_parabola(flat: Floats, best: Integers, inside: Floats, count: int) -> Floats:
    """Return how far, in steps of at most 1, the least value lies from the best point of each grid, shape (2, N)."""
    everyone = np.arange(best.size)
    up, right = np.where(inside, [[count], [1]], 0)

    def near(i: int, j: int) -> Floats:
        return np.asarray(flat[everyone, best + i * up + j * right])

    middle, above, below, after, before = near(0, 0), near(1, 0), near(-1, 0), near(0, 1), near(0, -1)
    slope = 0.5 * np.stack([above - below, after - before])
    curved = np.stack([above + below, after + before]) - 2.0 * middle
    curved = np.where(curved > 0.0, curved, np.inf)  # an edge, or a slope that bends down: stay
    a, c = curved
    b = 0.25 * (near(1, 1) - near(1, -1) - near(-1, 1) + near(-1, -1))
    b = np.where(b * b < 0.5 * a * c, b, 0.0)  # nearly a valley: each term for itself
    cross = slope[::-1] * b / (a * c)
    return np.clip((cross - slope / curved) / (1.0 - b * b / (a * c)), -1.0, 1.0)
