"""The likelihood of readings that are only known to lie in a range, one random effect a swap (method section 9)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import log_ndtr, ndtr

from antexp.mixed.arrays import Floats, Integers

# Beyond 7 standard deviations lies 2e-12 of a normal integrand; both the prior and every cell's edge decay as fast.
_REACH = 7.0
# Nodes 0.85 narrowest standard deviations apart: the trapezoidal rule errs by exp(-2 pi^2/0.85^2) = 1e-12.
_SPACING = 0.85
# Readings of one swap that contradict each other bend the integrand at least as 0.64/sigma^2 (log Phi at its edge).
_CONFLICT_REACH = _REACH / 0.8
_MODE_STEPS = 8
_LOG_ROOT_2PI = 0.5 * np.log(2.0 * np.pi)
_DEEP = -25.0


@dataclass(frozen=True)
class Value:
    """The log-likelihood at a point, with derivatives by (β, log τ, log σ).

    Attributes
    ----------
    log_likelihood : float
    gradient : ndarray, shape (p + 2,)
    hessian : ndarray, shape (p + 2, p + 2)
    """

    log_likelihood: float
    gradient: Floats
    hessian: Floats


@dataclass(frozen=True)
class CellLikelihood:
    """Readings as ranges, laid out swap by swap.

    Attributes
    ----------
    X : ndarray, shape (N, m, p)
        Fixed columns; a swap with fewer than m distinct readings is padded.
    low, high : ndarray, shape (N, m), dB
        Where each reading lies.
    weight : ndarray, shape (N, m)
        How many equal readings a row stands for; 0 where padded.

    Notes
    -----
    ℓ = Σⱼ log ∫ N(v; 0, τ²) Πᵢ [Φ((highᵢ − xᵢβ − v)/σ) − Φ((lowᵢ − xᵢβ − v)/σ)] dv. The integrand is log-concave,
    may have a flat top with edges of width σ (a coarse meter) or be a peak of width σ/√n (a fine one), and is entire:
    the trapezoidal rule with nodes 0.85 narrowest widths apart is exact to 1e-12 in both cases, where a Gauss–Hermite
    rule of fixed order, made for peaks, is not. Derivatives by Fisher's and Louis's identities.

    References
    ----------
    Louis 1982, J. R. Stat. Soc. B 44:226. Trefethen & Weideman 2014, SIAM Review 56:385 (trapezoidal rule).
    """

    X: Floats
    low: Floats
    high: Floats
    weight: Floats

    @property
    def swaps(self) -> int:
        """Number of swaps."""
        return self.X.shape[0]

    def at(self, beta: Floats, tau: float, sigma: float) -> Value:
        """Evaluate at fixed effects β (p,), swap scatter τ and reading scatter σ, both above 0, dB."""
        mean = self.X @ beta
        low, high = self.low - mean, self.high - mean
        v, spacing = self._nodes(low, high, tau, sigma)
        log_cell, first, by_log_sigma, second, second_sigma, cross = _cells(low, high, v, sigma, self.weight)
        prior = -0.5 * (v / tau) ** 2 - np.log(tau) - _LOG_ROOT_2PI
        log_f = prior + log_cell
        top = log_f.max(axis=1, keepdims=True)
        share = np.exp(log_f - top)
        total = share.sum(axis=1, keepdims=True)
        share /= total
        value = float((top[:, 0] + np.log(total[:, 0] * spacing)).sum())
        score = np.concatenate([first, ((v / tau) ** 2 - 1.0)[:, None, :], by_log_sigma[:, None, :]], axis=1)
        mean_score = np.einsum("nik,nk->ni", score, share)
        weighted = score * share[:, None, :]
        spread = np.matmul(weighted, score.transpose(0, 2, 1)) - mean_score[:, :, None] * mean_score[:, None, :]
        m = self.X.shape[1]
        index = np.arange(m)
        spread[:, index, index] += np.einsum("nik,nk->ni", second, share)
        spread[:, m + 1, :m] += np.einsum("nik,nk->ni", cross, share)  # below the diagonal is all that is read
        spread[:, m, m] -= 2.0 * np.einsum("nk,nk->n", (v / tau) ** 2, share)
        spread[:, m + 1, m + 1] += np.einsum("nk,nk->n", second_sigma, share)
        return self._onto_columns(value, mean_score, spread)

    def _onto_columns(self, value: float, score: Floats, spread: Floats) -> Value:
        """Turn derivatives by each reading's mean into derivatives by the coefficients."""
        _, m, p = self.X.shape
        flat = self.X.reshape(-1, p)
        gradient = np.concatenate([flat.T @ score[:, :m].ravel(), score[:, m:].sum(axis=0)])
        hessian = np.empty((p + 2, p + 2))
        turned = np.matmul(spread[:, :, :m], self.X)
        hessian[:p, :p] = flat.T @ turned[:, :m].reshape(-1, p)
        hessian[p:, :p] = turned[:, m:].sum(axis=0)
        hessian[:p, p:] = hessian[p:, :p].T
        hessian[p:, p:] = spread[:, m:, m:].sum(axis=0)
        return Value(value, gradient, hessian)

    def _nodes(self, low: Floats, high: Floats, tau: float, sigma: float) -> tuple[Floats, Floats]:
        """Return nodes that cover each swap's integrand, shape (N, K), and their spacing, shape (N,)."""
        there = self.weight > 0
        left = np.where(there, low, -np.inf).max(axis=1)
        right = np.where(there, high, np.inf).min(axis=1)
        mode = _modes(low, high, tau, sigma, self.weight, left, right)
        torn = left > right
        below = np.where(torn, mode - _CONFLICT_REACH * sigma, np.minimum(left, mode) - _REACH * sigma)
        above = np.where(torn, mode + _CONFLICT_REACH * sigma, np.maximum(right, mode) + _REACH * sigma)
        first, last = np.maximum(mode - _REACH * tau, below), np.minimum(mode + _REACH * tau, above)
        narrowest = 1.0 / np.sqrt(1.0 / tau**2 + self.weight.sum(axis=1) / sigma**2)
        count = int(np.ceil(((last - first) / narrowest).max() / _SPACING)) + 1
        spacing = (last - first) / (count - 1)
        return first[:, None] + spacing[:, None] * np.arange(count), spacing


def cell_likelihood(low: Floats, high: Floats, X: Floats, swap: Integers) -> CellLikelihood:
    """Lay readings out swap by swap; readings of a swap that are equal in everything are counted once.

    Parameters
    ----------
    low, high : ndarray, shape (n,), dB
        Where each reading lies, low < high.
    X : ndarray, shape (n, p)
        Fixed columns.
    swap : ndarray of int, shape (n,)
        Swap of each reading.
    """
    codes = np.unique(swap, return_inverse=True)[1]
    rows, counts = np.unique(np.column_stack([codes, low, high, X]), axis=0, return_counts=True)
    owner = rows[:, 0].astype(int)
    sizes = np.bincount(owner)
    place = np.arange(len(owner)) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    shape = (sizes.size, int(sizes.max()))
    laid = np.zeros((*shape, rows.shape[1] - 1))
    # padded rows hold a range as wide as any: their weight is 0, and nothing overflows
    laid[:, :, 0], laid[:, :, 1] = low.min(), high.max()
    laid[owner, place] = rows[:, 1:]
    weight = np.zeros(shape)
    weight[owner, place] = counts
    return CellLikelihood(np.ascontiguousarray(laid[:, :, 2:]), laid[:, :, 0], laid[:, :, 1], weight)


def _cells(low: Floats, high: Floats, v: Floats, sigma: float, weight: Floats) -> tuple[Floats, ...]:
    """Return log Π C at every node, and the weighted derivatives of each log C by mean and log σ."""
    a = (low[:, :, None] - v[:, None, :]) / sigma
    b = (high[:, :, None] - v[:, None, :]) / sigma
    log_c = _log_cell(a, b)
    ra = np.exp(-0.5 * a * a - log_c - _LOG_ROOT_2PI)
    rb = np.exp(-0.5 * b * b - log_c - _LOG_ROOT_2PI)
    first = (ra - rb) / sigma
    ara, brb = a * ra, b * rb
    by_sigma = ara - brb
    second = by_sigma / sigma**2 - first**2
    aara, bbrb = a * ara, b * brb
    cross = ((aara - ra) - (bbrb - rb)) / sigma - first * by_sigma
    second_sigma = (b * (rb - bbrb) - a * (ra - aara)) - by_sigma**2
    w = weight[:, :, None]
    total = np.matmul(weight[:, None, :], log_c)[:, 0]
    return (
        total, w * first, np.matmul(weight[:, None, :], by_sigma)[:, 0], w * second,
        np.matmul(weight[:, None, :], second_sigma)[:, 0], w * cross,
    )  # fmt: skip


def _log_cell(a: Floats, b: Floats) -> Floats:
    """Return log[Φ(b) − Φ(a)] for a < b without loss in either tail."""
    flip = a + b > 0
    lower, upper = np.where(flip, -b, a), np.where(flip, -a, b)
    cell = ndtr(upper) - ndtr(lower)
    deep = upper < _DEEP
    if not deep.any():
        return np.log(cell)
    found = np.log(np.where(deep, 1.0, cell))
    top = log_ndtr(upper[deep])
    found[deep] = top + np.log(-np.expm1(np.minimum(log_ndtr(lower[deep]) - top, -1e-300)))
    return found


def _modes(
    low: Floats, high: Floats, tau: float, sigma: float, weight: Floats, left: Floats, right: Floats
) -> Floats:
    """Return roughly where each swap's integrand is largest: Newton steps kept inside a shrinking bracket."""
    below = np.minimum(np.minimum(left, right), 0.0)
    above = np.maximum(np.maximum(left, right), 0.0)
    mode = np.clip(0.5 * (left + right) / (1.0 + (sigma / tau) ** 2 / weight.sum(axis=1)), below, above)
    for _ in range(_MODE_STEPS):
        _, first, _, second, _, _ = _cells(low, high, mode[:, None], sigma, weight)
        slope = first.sum(axis=(1, 2)) - mode / tau**2
        bend = second.sum(axis=(1, 2)) - 1.0 / tau**2
        below, above = np.where(slope > 0, mode, below), np.where(slope > 0, above, mode)
        step = mode - slope / np.minimum(bend, -1e-12)
        mode = np.where((step > below) & (step < above), step, 0.5 * (below + above))
    return mode
