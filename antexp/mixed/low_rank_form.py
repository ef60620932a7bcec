"""The restricted likelihood of many records of two terms, the finer diagonal and the coarser of low rank.

The records run along the last axis throughout, so that every step is one long operation; whatever the coarser term
asks is s numbers wide. With D = (I + γ₁λ)⁻¹, G = FᵀDF and N = (I + γ₂G)⁻¹ the inverse of Var(a) is D − γ₂DFNFᵀD, and
Var(a)⁻¹F = DFN.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.low_rank import LowRank, best_of_lines
from antexp.mixed.many_likelihood import Slopes, join_slopes
from antexp.mixed.small_matrices import eliminate_small, sweep_small, trace, trace_product

# Where γ₂ · tr(G) is below this, NG is multiplied out: (I − N)/γ₂ would lose its digits to the difference.
_NEARLY_ZERO = 1e-4

BLOCK = 1_000
"""Records worked on at a time: their small matrices stay near the processor."""


@dataclass(frozen=True)
class Core:
    """What Var(a)⁻¹ is made of, and what it makes of the records.

    Attributes
    ----------
    coarse : ndarray, shape (N,)
        γ₂ of the coarser term.
    inverse : ndarray, shape (d, N)
        D.
    gram : ndarray, shape (s(s + 1)/2, N)
        Upper triangle of G.
    middle : ndarray, shape (s, s, N)
        N.
    reach : ndarray, shape (s, s, N)
        NG = FᵀVar(a)⁻¹F.
    below : ndarray, shape (s, N)
        FᵀVar(a)⁻¹a.
    log_determinant : ndarray, shape (N,)
        log|Var(a)|.
    quadratic : ndarray, shape (N,)
        aᵀVar(a)⁻¹a.
    """

    coarse: Floats
    inverse: Floats
    gram: Floats
    middle: Floats
    reach: Floats
    below: Floats
    log_determinant: Floats
    quadratic: Floats


@dataclass(frozen=True)
class LowRankForm:
    """Records of two terms, the finer diagonal and the coarser FFᵀ.

    Attributes
    ----------
    design : LowRank
    coordinates : ndarray, shape (d, N)
        a = Kᵀy.
    rest : ndarray, shape (N,)
        Residual sum of squares outside K.
    """

    design: LowRank
    coordinates: Floats
    rest: Floats

    @property
    def free(self) -> int:
        """Residual degrees of freedom n − r."""
        return self.design.free

    def take(self, rows: Integers) -> LowRankForm:
        """Return some of the records."""
        if rows.size == self.rest.size:
            return self
        return LowRankForm(self.design, self.coordinates[:, rows], self.rest[rows])

    def blocks(self) -> list[Integers]:
        """Return the positions of the records in groups of at most `BLOCK`, at least one."""
        size = self.rest.size
        return [np.arange(start, min(start + BLOCK, size)) for start in range(0, max(size, 1), BLOCK)]

    def start(self) -> Floats:
        """Return where the search starts, shape (N, 2)."""
        parts = [self.take(rows) for rows in self.blocks()]
        return np.concatenate([best_of_lines(self.design, part.coordinates, part.rest) for part in parts])

    def second_look(self, which: int, coarse: Floats) -> Floats:
        """Return the deviance of each record at one γ₁ of `SECOND_LOOK` and its own γ₂, shape (N,)."""
        return self.design.second_look[which].deviance(self.coordinates, self.rest, coarse)

    def _bordered(self, gram: Floats, first: Floats, scale: Floats | float) -> Floats:
        """Return the upper triangle of scale · G, bordered by FᵀDa of first = Da, shape (s, s + 1, N)."""
        starts, s = self.design.starts, self.design.rank
        border = np.empty((s, s + 1, gram.shape[1]))
        for i in range(s):
            np.multiply(gram[starts[i] : starts[i + 1]], scale, out=border[i, i:s])
        border[:, s] = self.design.F.T @ first
        return border

    def _open(self, gamma: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
        """Return D, G, I + γ₂G bordered by FᵀDa, log|D⁻¹| and aᵀDa."""
        variance = 1.0 + self.design.values[:, None] * gamma[:, self.design.fine]
        inverse = 1.0 / variance
        first = inverse * self.coordinates
        gram = self.design.products @ inverse
        border = self._bordered(gram, first, gamma[:, self.design.coarse])
        for i in range(self.design.rank):
            border[i, i] += 1.0
        return inverse, gram, border, np.log(variance).sum(axis=0), dot(first, self.coordinates)

    def between_square(self, fine: Floats) -> Floats:
        """Return the sum of squares of the coarser term's levels beside the finer term, at γ₁ of shape (N,)."""
        inverse = 1.0 / (1.0 + self.design.values[:, None] * fine)
        return eliminate_small(self._bordered(self.design.products @ inverse, inverse * self.coordinates, 1.0))[1]

    def deviance(self, gamma: Floats) -> Floats:
        """Return the deviance of each record at its own γ, shape (N, 2)."""
        _, _, border, log_fine, square = self._open(gamma)
        log_determinant, form = eliminate_small(border)
        quadratic = self.rest + square - gamma[:, self.design.coarse] * form
        return self.free * np.log(quadratic) + log_determinant + log_fine

    def core(self, gamma: Floats) -> Core:
        """Work out what Var(a)⁻¹ is made of at γ, shape (N, 2)."""
        coarse, s = gamma[:, self.design.coarse], self.design.rank
        inverse, gram, border, log_fine, square = self._open(gamma)
        log_determinant, form = sweep_small(border)
        middle = border[:, :s]
        return Core(
            coarse,
            inverse,
            gram,
            middle,
            self._reach(middle, gram, coarse),
            border[:, s],
            log_determinant + log_fine,
            square - coarse * form,
        )

    def _reach(self, middle: Floats, gram: Floats, coarse: Floats) -> Floats:
        """Return NG = (I − N)/γ₂, multiplied out where γ₂ is too small for that."""
        small = coarse * gram[self.design.starts[:-1]].sum(axis=0) < _NEARLY_ZERO
        zero, near = np.flatnonzero(coarse == 0.0), np.flatnonzero(small & (coarse > 0.0))
        scale = 1.0 / np.where(coarse > 0.0, coarse, 1.0)
        reach = middle * -scale
        for i in range(self.design.rank):
            reach[i, i] += scale
        reach[:, :, zero] = self.design.unfold(gram[:, zero])
        if near.size:
            reach[:, :, near] = multiply(middle[:, :, near], self.design.unfold(gram[:, near]))
        return reach

    def slopes(self, gamma: Floats) -> Slopes:
        """Return deviance and derivatives at γ, shape (N, 2)."""
        blocks = self.blocks()
        if len(blocks) == 1:
            return self.slopes_at(self.core(gamma))
        return join_slopes([self.take(rows).slopes(gamma[rows]) for rows in blocks])

    def slopes_at(self, core: Core) -> Slopes:
        """Return deviance and derivatives at a γ whose core is known."""
        design, f, c, g2 = self.design, self.design.fine, self.design.coarse, core.coarse
        traces, squares = self._traces(core)
        alpha = core.inverse * (self.coordinates - design.F @ (g2 * core.below))
        fine = design.values[:, None] * alpha
        weighted = core.inverse * fine
        pulled = design.F.T @ weighted
        turned = apply(core.middle, pulled)
        lengths, forms = np.empty((g2.size, 2)), np.empty((g2.size, 2, 2))
        lengths[:, f], lengths[:, c] = dot(alpha, fine), dot(core.below, core.below)
        forms[:, f, f] = dot(fine, weighted) - g2 * dot(pulled, turned)
        forms[:, c, c] = dot(core.below, apply(core.reach, core.below))
        forms[:, f, c] = forms[:, c, f] = dot(turned, core.below)
        quadratic = self.rest + core.quadratic
        return Slopes(
            self.free * np.log(quadratic) + core.log_determinant, quadratic, traces, lengths, squares, forms
        )

    def _traces(self, core: Core) -> tuple[Floats, Floats]:
        """Return tr(PGᵢ) and tr(PGᵢPGⱼ)."""
        design, f, c, g2 = self.design, self.design.fine, self.design.coarse, core.coarse
        weighted = core.inverse * design.values[:, None]
        # Here the records come first: that is what a product of many small matrices is fastest with.
        middle = np.ascontiguousarray(np.moveaxis(core.middle, -1, 0))
        moved = middle @ design.whole_gram(core.inverse * weighted)
        cubic = np.einsum("nij,nij->n", middle, design.whole_gram(core.inverse * weighted**2))
        traces, squares = np.empty((g2.size, 2)), np.empty((g2.size, 2, 2))
        traces[:, f] = weighted.sum(axis=0) - g2 * trace(moved)
        traces[:, c] = np.einsum("iin->n", core.reach)
        squares[:, f, f] = dot(weighted, weighted) - 2.0 * g2 * cubic + g2**2 * trace_product(moved, moved)
        squares[:, c, c] = np.einsum("ijn,ijn->n", core.reach, core.reach)
        squares[:, f, c] = squares[:, c, f] = np.einsum("nij,nij->n", moved, middle)
        return traces, squares

    def solve(self, core: Core, right: Floats) -> Floats:
        """Return Var(a)⁻¹ right for right of shape (d, N)."""
        first = core.inverse * right
        below = apply(core.middle, self.design.F.T @ first)
        return first - core.inverse * (self.design.F @ (core.coarse * below))


def multiply(a: Floats, b: Floats) -> Floats:
    """Multiply matrices, shape (s, s, N), record by record."""
    return np.einsum("ijn,jkn->ikn", a, b)


def apply(matrices: Floats, vectors: Floats) -> Floats:
    """Multiply each matrix, shape (s, s, N), by its vector, shape (s, N)."""
    return np.einsum("ijn,jn->in", matrices, vectors)


def dot(a: Floats, b: Floats) -> Floats:
    """Return the inner products of vectors, shape (d, N)."""
    return np.einsum("in,in->n", a, b)
