"""Climb the likelihood of ranges: damped Newton steps, scatters kept above their floors, one contrast held if asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.cell_likelihood import CellLikelihood, Value

_STEPS = 100
_LONGEST = 1.5  # in log scatter: no step changes a scatter by more than a factor of 4.5
_FAR = 4.0  # in steps of the meter or scatters: no step moves a coefficient farther
_GAIN = 1e-7  # log-likelihood still to be gained, as the quadratic model sees it, when the climb ends
_FLAT = 1e-7  # share of the strongest bend below which a direction counts as flat


@dataclass(frozen=True)
class Point:
    """Where a climb ended.

    Attributes
    ----------
    beta : ndarray, shape (p,), dB
    log_tau, log_sigma : float
        Logarithms of swap and reading scatter.
    value : Value
        Likelihood and derivatives there.
    free : ndarray of bool, shape (p + 2,)
        Parameters that are not at a floor.
    converged : bool
    evaluations : int
    """

    beta: Floats
    log_tau: float
    log_sigma: float
    value: Value
    free: Floats
    converged: bool
    evaluations: int

    def shifted(self, row: Floats, target: float) -> tuple[Floats, float, float]:
        """Return the point moved along the likelihood's own valley until the contrast has a value."""
        p = len(self.beta)
        information = -self.value.hessian[:p, :p]
        values, vectors = np.linalg.eigh(information)
        bend = np.maximum(values, _FLAT * max(float(values[-1]), 1e-200))  # a plateau leads straight along the row
        direction = vectors @ ((vectors.T @ row) / bend)
        move = (target - float(row @ self.beta)) / float(row @ direction)
        return self.beta + direction * move, self.log_tau, self.log_sigma


def climb(
    likelihood: CellLikelihood,
    beta: Floats,
    log_tau: float,
    log_sigma: float,
    bounds: tuple[float, float],
    held: Floats | None = None,
) -> Point:
    """Climb to the maximum.

    Parameters
    ----------
    likelihood : CellLikelihood
    beta : ndarray, shape (p,), dB
        Start.
    log_tau, log_sigma : float
        Start.
    bounds : (float, float)
        Smallest log τ and log σ.
    held : ndarray, shape (p,), optional
        A contrast of β that keeps its value.
    """
    p = len(beta)
    floor = np.concatenate([np.full(p, -np.inf), bounds])
    theta = np.maximum(np.concatenate([beta, [log_tau, log_sigma]]), floor)
    basis = _basis(p, held)
    value = _at(likelihood, theta)
    width = float(np.median((likelihood.high - likelihood.low)[likelihood.weight > 0]))
    damping, evaluations = 0.0, 1
    for _ in range(_STEPS):
        free = (theta > floor + 1e-12) | (value.gradient > 0)
        move, gain = _step(value, basis, free, damping)
        if gain < _GAIN:
            return Point(theta[:p], theta[p], theta[p + 1], value, free, True, evaluations)
        reach = _FAR * max(width, *np.exp(theta[p:]))
        move = move / max(1.0, float(np.abs(move[:p]).max()) / reach, float(np.abs(move[p:]).max()) / _LONGEST)
        trial = np.maximum(theta + move, floor)
        found = _at(likelihood, trial)
        evaluations += 1
        rise = found.log_likelihood - value.log_likelihood
        if np.isfinite(rise) and rise > -1e-10:
            theta, value = trial, found
            damping = 0.0 if rise > 0.25 * gain else max(damping, 1e-3)
            damping = damping / 10 if damping > 1e-6 else 0.0
        else:
            damping = max(10.0 * damping, 1e-3)
            if damping > 1e12:
                break
    return Point(theta[:p], theta[p], theta[p + 1], value, free, False, evaluations)


def _at(likelihood: CellLikelihood, theta: Floats) -> Value:
    """Evaluate at a vector of parameters."""
    return likelihood.at(theta[:-2], float(np.exp(theta[-2])), float(np.exp(theta[-1])))


def _basis(p: int, held: Floats | None) -> Floats:
    """Return orthonormal directions in which β and the scatters may move, shape (p + 2, d)."""
    if held is None:
        return np.eye(p + 2)
    full = np.linalg.qr(np.column_stack([held, np.eye(p)]))[0]
    basis = np.zeros((p + 2, p + 1))
    basis[:p, : p - 1] = full[:, 1:p]
    basis[p, p - 1] = basis[p + 1, p] = 1.0
    return basis


def _step(value: Value, basis: Floats, free: Floats, damping: float) -> tuple[Floats, float]:
    """Return a Newton step that goes uphill, and the gain it promises."""
    keep = np.ones(basis.shape[1], dtype=bool)
    keep[-2:] = free[-2:]  # the scatters are the last two directions
    ways = basis[:, keep]
    gradient = ways.T @ value.gradient
    values, vectors = np.linalg.eigh(-(ways.T @ value.hessian @ ways))
    top = max(float(np.abs(values).max()), 1e-300)
    # a direction that bends the wrong way, or not at all, is climbed as if it bent as much the right way
    bend = np.maximum(np.abs(values), _FLAT * top) + damping * top
    turned = vectors.T @ gradient
    move = ways @ (vectors @ (turned / bend))
    return move, 0.5 * float((turned**2 / bend).sum())
