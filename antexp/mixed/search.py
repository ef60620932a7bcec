"""The search for the relative variances: deterministic Newton with the edge tested by its derivative."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import CrossProducts
from antexp.mixed.restricted_likelihood import (
    Derivatives,
    Projection,
    Reduced,
    derivatives,
    project,
    reduce_at,
    residual_square,
)

GRID = (0.0, 0.01, 0.1, 1.0, 10.0, 100.0, 1e4)
"""Relative variances tried first, in units of 1 / readings per level."""

SECOND_LOOK = (0.0, 0.3, 3.0, 30.0)
"""The same along one term alone, when a second hill is looked for."""

MOST_STEPS = 200


@dataclass(frozen=True)
class History:
    """How the search went.

    Attributes
    ----------
    names : tuple of str
        Random terms.
    start, end : tuple of float
        Relative variances γ at the first Newton step (the best of a grid, or the caller's) and at the answer.
    evaluations : int
        Evaluations of the likelihood.
    steps : int
        Newton steps taken.
    gradient : tuple of float
        d(−2 log-likelihood)/dγ at the end: 0 inside, at least 0 for a term at zero.
    at_zero : tuple of str
        Terms that ended at zero.
    converged : bool
        The last step changed no relative variance by more than 1e-8 of itself.
    path : tuple of float
        −2 log-likelihood, less its constant, after each step.
    """

    names: tuple[str, ...]
    start: tuple[float, ...]
    end: tuple[float, ...]
    evaluations: int
    steps: int
    gradient: tuple[float, ...]
    at_zero: tuple[str, ...]
    converged: bool
    path: tuple[float, ...]


class _Search:
    """One search; holds the count of evaluations and the path."""

    def __init__(self, products: CrossProducts) -> None:
        self.products = products
        self.evaluations = 0
        self.steps = 0
        self.path: list[float] = []
        self.unit = _units(products)

    def value(self, gamma: Floats) -> Reduced:
        self.evaluations += 1
        return reduce_at(self.products, gamma)

    def slopes(self, at: Reduced) -> tuple[Projection, Derivatives]:
        p = project(self.products, at)
        return p, derivatives(self.products, at, p)

    def best_of_grid(self) -> Reduced:
        """Take the best of a few common multiples of the terms' own units."""
        return min((self.value(g * self.unit) for g in GRID[1:]), key=lambda at: at.deviance)

    def descend(self, at: Reduced) -> tuple[Reduced, Derivatives, bool]:
        """Go down from a start until no step helps: Newton in log γ, with terms set to zero where that is better."""
        releases = np.zeros(at.gamma.size, dtype=int)
        for _ in range(MOST_STEPS):
            _, slope = self.slopes(at)
            free = at.gamma > 0
            # Each γ in its own unit; less than 1e-9 of a digit of likelihood is rounding.
            leaving = ~free & (slope.gradient * self.unit < -1e-9) & (releases < 5)
            step = _log_step(at.gamma, slope, free)
            if not free.any() or np.abs(step).max() < 1e-8:
                if leaving.any():
                    at = self._release(at, slope, leaving)
                    releases += leaving
                    continue
                return at, slope, True
            better = self._zero_if_better(at, step) or self._along(at, step)
            self.steps += 1
            if better is None:  # no digit left to gain
                return at, slope, bool(np.abs(step).max() < 1e-5)
            at = better
            self.path.append(at.deviance)
        return at, self.slopes(at)[1], False

    def _release(self, at: Reduced, slope: Derivatives, leaving: NDArray[np.bool_]) -> Reduced:
        """Move terms off the edge whose derivative points inwards."""
        size = np.where(leaving, -slope.gradient / np.maximum(np.diag(slope.expected), 1e-300), 0.0)
        for _ in range(60):
            trial = self.value(at.gamma + size)
            if trial.deviance < at.deviance:
                return trial
            size = size / 4.0
        return at

    def _zero_if_better(self, at: Reduced, step: Floats) -> Reduced | None:
        """Set a term to zero that heads there, if the likelihood agrees."""
        small, fast = at.gamma < 0.05 * self.unit, (at.gamma < self.unit) & (step < -0.7)
        heading = (at.gamma > 0) & (step < 0) & (small | fast)
        if not heading.any():
            return None
        trial = self.value(np.where(heading, 0.0, at.gamma))
        if trial.deviance > at.deviance:
            return None
        _, slope = self.slopes(trial)
        return trial if (slope.gradient[heading] >= 0).all() else None

    def _along(self, at: Reduced, step: Floats) -> Reduced | None:
        """Follow a step in log γ, halved until it goes down."""
        length = 1.0
        for _ in range(40):
            try:
                trial = self.value(at.gamma * np.exp(length * step))
            except np.linalg.LinAlgError:  # a term so much larger than the noise that no digit of that is left
                length *= 0.5
                continue
            if trial.deviance < at.deviance or (
                length == 1.0 and np.abs(step).max() < 1e-4 and trial.deviance < at.deviance + 1e-9
            ):
                return trial
            length *= 0.5
        return None

    def elsewhere(self, at: Reduced, whole: bool) -> Reduced | None:
        """Look for a better hill along each term alone: a likelihood can have two; only at zero where not `whole`."""
        grid = SECOND_LOOK if whole else SECOND_LOOK[:1]
        for term in range(at.gamma.size):
            for g in grid:
                gamma = at.gamma.copy()
                gamma[term] = g * self.unit[term]
                trial = self.value(gamma)
                if trial.deviance < at.deviance - 1e-7:
                    return trial
        return None


def _units(products: CrossProducts) -> Floats:
    """Return for each term 1 / its mean readings per level, the natural size of γ."""
    unit = np.empty(len(products.names))
    for term, block in enumerate(products.blocks):
        diagonal = products.counts if term == products.eliminated else np.diag(products.gram)[
            products.rank + block.start : products.rank + block.stop
        ]
        unit[term] = 1.0 / max(float(np.mean(diagonal)), 1e-300)
    return unit


def _log_step(gamma: Floats, slope: Derivatives, free: NDArray[np.bool_]) -> Floats:
    """Return the Newton step in log γ of the free terms, by the observed Hessian where it is safe, at most 3."""
    step = np.zeros(gamma.size)
    if not free.any():
        return step
    g = gamma[free]
    gradient = g * slope.gradient[free]
    for matrix, extra in ((slope.hessian, gradient), (slope.expected, 0.0 * gradient)):
        curved = matrix[np.ix_(free, free)] * np.outer(g, g) + np.diag(extra)
        values, vectors = np.linalg.eigh(curved)
        if values[0] > 1e-10 * values[-1] > 0:
            step[free] = -vectors @ ((vectors.T @ gradient) / values)
            break
    else:
        step[free] = -np.sign(gradient)
    return step * min(1.0, 3.0 / max(float(np.abs(step).max()), 1e-300))


def _given(names: tuple[str, ...], unit: Floats, first: Mapping[str, float]) -> Floats:
    """Return the caller's relative variances in the order of the terms."""
    return np.array([first.get(name, float(u)) for name, u in zip(names, unit, strict=True)])


def maximise(
    products: CrossProducts, first: Mapping[str, float] | None = None
) -> tuple[Reduced, Projection, History]:
    """Find the relative variances of greatest restricted likelihood, each at least zero.

    Parameters
    ----------
    products : CrossProducts
    first : mapping of str to float, optional
        Relative variance of each term to start from, in place of the grid; a term that is not named starts at its
        unit.

    Returns
    -------
    at : Reduced
        The record at the answer.
    projection : Projection
        P there.
    history : History

    Notes
    -----
    A grid on common multiples gives the start; Newton in log γ follows; a term that heads for zero is set there when
    the likelihood is no worse and its derivative at zero points outwards, and released when it points inwards; last,
    each term alone is looked at over the grid for a second hill.
    """
    search = _Search(products)
    if not products.names or residual_square(products) == 0.0:
        at = search.value(np.zeros(len(products.names)))
        zeros = (0.0,) * len(products.names)
        history = History(products.names, zeros, zeros, 1, 0, zeros, products.names, True, ())
        return at, project(products, at), history
    start = search.best_of_grid() if first is None else search.value(_given(products.names, search.unit, first))
    at, slope, converged = search.descend(start)
    whole = first is not None or at.gamma.size > 1  # one term: the grid of the start has looked along it
    for _ in range(3):
        other = search.elsewhere(at, whole)
        if other is None:
            break
        at, slope, converged = search.descend(other)
    at_zero = tuple(name for name, g in zip(products.names, at.gamma, strict=True) if g == 0.0)
    history = History(
        products.names,
        tuple(map(float, start.gamma)),
        tuple(map(float, at.gamma)),
        search.evaluations,
        search.steps,
        tuple(map(float, slope.gradient)),
        at_zero,
        converged,
        tuple(search.path),
    )
    return at, project(products, at), history
