"""The fixed part of the model: which columns are independent, and what can be estimated from them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.linalg import qr

from antexp.mixed.arrays import Floats, Integers

RANK_TOLERANCE = 1e-9
"""Least share of a column's length that must stand outside the other columns: a double keeps about 1e-15."""

GRAM_TOLERANCE = 1e-6
"""The same where only cross-products are at hand: squares keep half the digits."""


@dataclass(frozen=True)
class FixedPart:
    """The fixed columns as orthonormal ones: X[:, kept] · inverse = Q.

    Attributes
    ----------
    columns : int
        p, as the caller gave them.
    kept : ndarray of int, shape (r,)
        Independent columns, ascending.
    aliased : ndarray of int, shape (p − r,)
        Columns that are sums of the kept ones.
    inverse : ndarray, shape (r, r)
        Inverse of the upper triangular factor. Held as such: a triangular solve of this size costs more in
        threads waking up than in arithmetic.
    null_space : ndarray, shape (p, p − r)
        Directions of the coefficients that the readings cannot see.
    """

    columns: int
    kept: Integers
    aliased: Integers
    inverse: Floats
    null_space: Floats

    @property
    def rank(self) -> int:
        """Number of independent columns."""
        return int(self.kept.size)

    def to_orthonormal(self, rows: Floats) -> Floats:
        """Turn contrast rows on the caller's columns, shape (…, p), into rows on the orthonormal ones."""
        return rows[..., self.kept] @ self.inverse

    def to_coefficients(self, values: Floats) -> Floats:
        """Turn coefficients of the orthonormal columns into the caller's; NaN for aliased columns."""
        full = np.full(self.columns, np.nan)
        full[self.kept] = self.inverse @ values
        return full

    def to_covariance(self, matrix: Floats) -> Floats:
        """Turn a covariance of the orthonormal coefficients into the caller's; NaN for aliased columns."""
        full = np.full((self.columns, self.columns), np.nan)
        full[np.ix_(self.kept, self.kept)] = self.inverse @ matrix @ self.inverse.T
        return full

    def check_estimable(self, rows: Floats) -> None:
        """Refuse contrasts that the readings cannot tell.

        Raises
        ------
        ValueError
            A row that reaches into the null space of X; the message names X's rank and the aliased columns.
        """
        if not self.aliased.size:
            return
        reach = np.abs(rows @ self.null_space).max(axis=1)
        bad = np.flatnonzero(reach > 1e-7 * np.maximum(np.abs(rows).max(axis=1), 1e-300))
        if bad.size:
            raise ValueError(
                f"contrast cannot be estimated: rank check of X: {self.rank} of {self.columns} columns are "
                f"independent, column {', '.join(map(str, self.aliased))} aliased with the others; contrast row "
                f"{', '.join(map(str, bad))} asks for what they share. Ask for a contrast that does not need it, or "
                "tie the groups of readings together"
            )


def factor_columns(X: Floats) -> tuple[Floats, FixedPart]:
    """Find the independent columns of X and make them orthonormal.

    Parameters
    ----------
    X : ndarray, shape (n, p)

    Returns
    -------
    columns : ndarray, shape (n, r)
        Orthonormal columns of the same span.
    fixed : FixedPart
    """
    scale = _lengths(np.sqrt(np.einsum("ij,ij->j", X, X)))
    q, r = np.linalg.qr(X / scale)
    if r.size and r.shape[0] == r.shape[1] and np.abs(np.diag(r)).min() > 1e-4:
        kept = np.arange(X.shape[1])
        return q, FixedPart(X.shape[1], kept, kept[:0], np.linalg.inv(r * scale), np.zeros((X.shape[1], 0)))
    _, r, order = qr(X / scale, mode="economic", pivoting=True)
    rank = int((np.abs(np.diag(r)) > RANK_TOLERANCE).sum())
    kept = np.sort(order[:rank])
    q, r = np.linalg.qr(X[:, kept] / scale[kept])
    return q, _fixed_part(X.shape[1], kept, r, scale, lambda other: q.T @ (X[:, other] / scale[other]))


def factor_gram(gram: Floats) -> FixedPart:
    """Find the independent columns from XᵀX alone, shape (p, p), by Cholesky with pivots."""
    scale = _lengths(np.sqrt(np.maximum(np.diag(gram), 0.0)))
    unit = gram / np.outer(scale, scale)
    kept = np.sort(_pivots(unit))
    r = np.linalg.cholesky(unit[np.ix_(kept, kept)]).T
    return _fixed_part(
        gram.shape[0], kept, r, scale, lambda other: np.linalg.solve(r.T, unit[np.ix_(kept, other)])
    )


def _fixed_part(
    p: int, kept: Integers, r: Floats, scale: Floats, project: Callable[[Integers], Floats]
) -> FixedPart:
    """Put a FixedPart together; `project` gives the aliased columns on the orthonormal ones."""
    aliased = np.setdiff1d(np.arange(p), kept)
    null = np.zeros((p, aliased.size))
    if aliased.size:
        null[kept] = -np.linalg.solve(r, project(aliased)) / scale[kept, None] * scale[aliased]
        null[aliased, np.arange(aliased.size)] = 1.0
        null /= np.linalg.norm(null, axis=0)
    return FixedPart(p, kept, aliased, np.linalg.inv(r * scale[kept]), null)


def _pivots(unit: Floats) -> Integers:
    """Choose independent columns of a unit-diagonal Gram matrix, the most distinct first."""
    work, chosen = unit.copy(), []
    left = np.diag(work).copy()
    while left.size and left.max() > GRAM_TOLERANCE**2:
        best = int(np.argmax(left))
        chosen.append(best)
        work -= np.outer(work[:, best], work[best]) / work[best, best]
        left = np.diag(work).copy()
        left[chosen] = 0.0
    return np.array(chosen, dtype=np.intp)


def _lengths(norms: Floats) -> Floats:
    """Return column lengths, 1 for an empty column."""
    return np.where(norms > 0, norms, 1.0)
