"""The restricted likelihood of many records at once, one γ a record, and its derivatives.

Here all random terms are diagonal, with equal directions pooled so that a balanced design is one number a record; a
second term of low rank stands in `low_rank_form`.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from antexp.mixed.arrays import Floats, Integers


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

    def take(self, rows: Integers) -> Slopes:
        """Return those of some of the records."""
        return Slopes(*(getattr(self, each.name)[rows] for each in fields(self)))

    def put(self, rows: Integers, part: Slopes) -> None:
        """Put those of some records in their places."""
        for each in fields(self):
            getattr(self, each.name)[rows] = getattr(part, each.name)

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


def join_slopes(parts: list[Slopes]) -> Slopes:
    """Put the slopes of several groups of records one after the other."""
    return Slopes(*(np.concatenate([getattr(part, each.name) for part in parts]) for each in fields(Slopes)))


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
