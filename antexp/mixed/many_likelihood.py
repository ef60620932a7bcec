"""The restricted likelihood of many records at once, one γ a record, and its derivatives.

Two forms of the same model stand side by side: all random terms diagonal (`DiagonalForm`), with equal directions
pooled so that a balanced design is one number a record; and a second term of low rank (`LowRankForm`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.small_matrices import eliminate_small, invert_small, times, trace, trace_product
from antexp.mixed.spectrum import Spectrum


@dataclass(frozen=True)
class Slopes:
    """Deviance and derivatives of N records.

    Attributes
    ----------
    deviance, quadratic : ndarray, shape (N,)
        −2 log-likelihood less its constant, and yᵀPy.
    traces, lengths : ndarray, shape (N, k)
        tr(PGᵢ) and yᵀPGᵢPy.
    squares, forms : ndarray, shape (N, k, k)
        tr(PGᵢPGⱼ) and yᵀPGᵢPGⱼPy.
    """

    deviance: Floats
    quadratic: Floats
    traces: Floats
    lengths: Floats
    squares: Floats
    forms: Floats

    def gradient(self, free: int) -> Floats:
        """Return d deviance / dγ, shape (N, k)."""
        return self.traces - free * self.lengths / self.quadratic[:, None]

    def hessian(self, free: int) -> Floats:
        """Return the observed second derivatives, shape (N, k, k)."""
        ratio = self.lengths / self.quadratic[:, None]
        forms = 2.0 * self.forms / self.quadratic[:, None, None]
        return -self.squares + free * (forms - ratio[:, :, None] * ratio[:, None, :])

    def expected(self, free: int) -> Floats:
        """Return the expected second derivatives, shape (N, k, k)."""
        return self.squares - self.traces[:, :, None] * self.traces[:, None, :] / free


@dataclass(frozen=True)
class DiagonalForm:
    """Records whose random terms are all diagonal.

    Attributes
    ----------
    free : int
        n − r.
    weights : ndarray, shape (k, P)
        λ of each term on each pool of equal directions.
    many : ndarray, shape (P,)
        Directions in a pool.
    squares : ndarray, shape (N, P)
        Sum of a² over a pool.
    rest : ndarray, shape (N,)
        Residual sum of squares outside K.
    """

    free: int
    weights: Floats
    many: Floats
    squares: Floats
    rest: Floats

    def take(self, rows: Integers) -> DiagonalForm:
        """Return some of the records."""
        return DiagonalForm(self.free, self.weights, self.many, self.squares[rows], self.rest[rows])

    def deviance(self, gamma: Floats) -> Floats:
        """Return the deviance of each record at its own γ, shape (N, k)."""
        variance = 1.0 + gamma @ self.weights
        quadratic = self.rest + (self.squares / variance).sum(axis=1)
        return self.free * np.log(quadratic) + np.log(variance) @ self.many

    def slopes(self, gamma: Floats) -> Slopes:
        """Return deviance and derivatives at γ, shape (N, k)."""
        variance = 1.0 + gamma @ self.weights
        scaled = self.squares / variance
        quadratic = self.rest + scaled.sum(axis=1)
        k = self.weights.shape[0]
        inverse = 1.0 / variance
        flat = (self.weights[:, None, :] * self.weights[None, :, :]).reshape(k * k, self.weights.shape[1])
        once, twice = scaled * inverse, inverse * inverse * self.many
        return Slopes(
            self.free * np.log(quadratic) + np.log(variance) @ self.many,
            quadratic,
            (inverse * self.many) @ self.weights.T,
            once @ self.weights.T,
            (twice @ flat.T).reshape(gamma.shape[0], k, k),
            ((once * inverse) @ flat.T).reshape(gamma.shape[0], k, k),
        )


@dataclass(frozen=True)
class Core:
    """What Var(a)⁻¹ = D − γ₂DFNFᵀD is made of.

    Attributes
    ----------
    coarse : ndarray, shape (N,)
        γ₂ of the coarser term.
    inverse : ndarray, shape (N, d)
        D = (I + γ₁λ)⁻¹.
    gram : ndarray, shape (N, s, s)
        FᵀDF.
    middle : ndarray, shape (N, s, s)
        N = (I + γ₂FᵀDF)⁻¹.
    log_determinant : ndarray, shape (N,)
        log|Var(a)|.
    """

    coarse: Floats
    inverse: Floats
    gram: Floats
    middle: Floats
    log_determinant: Floats


@dataclass(frozen=True)
class LowRankForm:
    """Records of two terms, the finer diagonal and the coarser FFᵀ.

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
    coordinates : ndarray, shape (N, d)
        a = Kᵀy.
    rest : ndarray, shape (N,)
        Residual sum of squares outside K.
    """

    free: int
    fine: int
    coarse: int
    values: Floats
    F: Floats
    coordinates: Floats
    rest: Floats

    def take(self, rows: Integers) -> LowRankForm:
        """Return some of the records."""
        return LowRankForm(
            self.free, self.fine, self.coarse, self.values, self.F, self.coordinates[rows], self.rest[rows]
        )

    def _upper(self, weights: Floats) -> tuple[Floats, Integers]:
        """Return the upper triangle of Fᵀ diag(w) F, shape (s(s+1)/2, N), and where each entry of a row starts."""
        i, j = np.triu_indices(self.F.shape[1])
        starts = np.flatnonzero(i == j)
        return (self.F[:, i] * self.F[:, j]).T @ weights.T, starts

    def gram(self, weights: Floats) -> Floats:
        """Return Fᵀ diag(w) F for each row of weights, shape (N, s, s)."""
        upper, _ = self._upper(weights)
        s = self.F.shape[1]
        place = np.zeros((s, s), dtype=np.intp)
        i, j = np.triu_indices(s)
        place[i, j] = place[j, i] = np.arange(i.size)
        return np.moveaxis(upper[place], -1, 0)

    def core(self, gamma: Floats) -> Core:
        """Work out what Var(a)⁻¹ is made of at γ, shape (N, 2)."""
        inverse = 1.0 / (1.0 + gamma[:, self.fine, None] * self.values)
        gram = self.gram(inverse)
        middle, log_determinant = invert_small(
            np.eye(self.F.shape[1]) + gamma[:, self.coarse, None, None] * gram
        )
        return Core(gamma[:, self.coarse], inverse, gram, middle, log_determinant - np.log(inverse).sum(axis=1))

    def solve(self, core: Core, right: Floats) -> Floats:
        """Return Var(a)⁻¹ right for right of shape (N, d)."""
        first = core.inverse * right
        return first - core.coarse[:, None] * core.inverse * (times(core.middle, first @ self.F) @ self.F.T)

    def deviance(self, gamma: Floats) -> Floats:
        """Return the deviance of each record at its own γ, shape (N, 2)."""
        inverse = 1.0 / (1.0 + gamma[:, self.fine, None] * self.values)
        first = inverse * self.coordinates
        s, coarse = self.F.shape[1], gamma[:, self.coarse]
        upper, starts = self._upper(inverse)
        upper *= coarse
        border = np.empty((s, s + 1, gamma.shape[0]))
        for i, start in enumerate(starts):
            border[i, i:s] = upper[start : start + s - i]
        border[range(s), range(s)] += 1.0
        border[:, s] = self.F.T @ first.T
        log_determinant, form = eliminate_small(border)
        quadratic = (first * self.coordinates).sum(axis=1) - coarse * form
        log_determinant -= np.log(inverse).sum(axis=1)
        return self.free * np.log(self.rest + quadratic) + log_determinant

    def slopes(self, gamma: Floats) -> Slopes:
        """Return deviance and derivatives at γ, shape (N, 2).

        With N = (I + γ₂FᵀDF)⁻¹ every product with F is s wide: Var(a)⁻¹F = DFN.
        """
        core, f, c = self.core(gamma), self.fine, self.coarse
        size, g2 = gamma.shape[0], core.coarse
        traces, squares = self._traces(core)
        alpha = self.solve(core, self.coordinates)
        fine, below = self.values * alpha, alpha @ self.F
        weighted = core.inverse * fine
        reach = weighted @ self.F
        turned, pulled = times(core.middle, reach), times(core.middle, times(core.gram, below))
        lengths, forms = np.empty((size, 2)), np.empty((size, 2, 2))
        lengths[:, f], lengths[:, c] = (alpha * fine).sum(axis=1), (below**2).sum(axis=1)
        forms[:, f, f] = (fine * weighted).sum(axis=1) - g2 * (reach * turned).sum(axis=1)
        forms[:, c, c] = (below * pulled).sum(axis=1)
        forms[:, f, c] = forms[:, c, f] = (turned * below).sum(axis=1)
        quadratic = self.rest + (self.coordinates * alpha).sum(axis=1)
        deviance = self.free * np.log(quadratic) + core.log_determinant
        return Slopes(deviance, quadratic, traces, lengths, squares, forms)

    def _traces(self, core: Core) -> tuple[Floats, Floats]:
        """Return tr(PGᵢ) and tr(PGᵢPGⱼ)."""
        f, c, g2 = self.fine, self.coarse, core.coarse
        weighted = core.inverse * self.values
        nk = core.middle @ core.gram
        nj = core.middle @ self.gram(core.inverse * weighted)
        cubic = trace_product(core.middle, self.gram(core.inverse * weighted**2))
        traces, squares = np.empty((g2.size, 2)), np.empty((g2.size, 2, 2))
        traces[:, f], traces[:, c] = weighted.sum(axis=1) - g2 * trace(nj), trace(nk)
        squares[:, f, f] = (weighted**2).sum(axis=1) - 2.0 * g2 * cubic + g2**2 * trace_product(nj, nj)
        squares[:, c, c] = trace_product(nk, nk)
        squares[:, f, c] = squares[:, c, f] = trace_product(nj, core.middle)
        return traces, squares


Form = DiagonalForm | LowRankForm


def form_of(design: Spectrum, coordinates: Floats, rest: Floats) -> tuple[Form, Integers]:
    """Choose the form of a design and pool its equal directions.

    Parameters
    ----------
    design : Spectrum
    coordinates : ndarray, shape (N, d)
    rest : ndarray, shape (N,)

    Returns
    -------
    form : DiagonalForm or LowRankForm
    pool : ndarray of int, shape (d,)
        Pool of each direction (each its own where nothing is pooled).
    """
    d = design.weights.shape[1]
    if design.low_rank is not None:
        fine = design.finest
        form = LowRankForm(
            design.free, fine, 1 - fine, design.weights[fine], design.low_rank, coordinates, rest
        )
        return form, np.arange(d)
    scale = np.maximum(design.weights.max(axis=1, initial=0.0), 1e-300)[:, None]
    labels = np.round(design.weights / scale, 9)
    _, first, pool = np.unique(labels, axis=1, return_index=True, return_inverse=True)
    pool = pool.reshape(-1)
    gather = np.zeros((d, first.size))
    gather[np.arange(d), pool] = 1.0
    return DiagonalForm(
        design.free, design.weights[:, first], gather.sum(axis=0), coordinates**2 @ gather, rest
    ), pool
