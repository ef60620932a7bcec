"""One design seen from its residual space, where its random terms are diagonal or nearly so.

Of all contrasts that are free of the fixed part only those within the levels of the finest random term (the swaps)
carry random effects. In an orthonormal basis K of these, chosen as eigenvectors of the finest term,

    Var(Kᵀy)/σ² = I + γ₁ diag(λ) + γ₂ FFᵀ,

and every other residual direction has variance 1. An estimate by generalised least squares is the ordinary one less
its regression on Kᵀy. So a whole REML analysis needs the coordinates a = Kᵀy, the sum of squares left over, and the
ordinary estimates (Patterson and Thompson 1971; Kang et al. 2008): the record itself is not needed again.

References
----------
Patterson and Thompson 1971, Biometrika 58:545, doi:10.1093/biomet/58.3.545.
Kang et al. 2008, Genetics 178:1709, doi:10.1534/genetics.107.080101.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.fixed_part import FixedPart, factor_columns
from antexp.mixed.terms import Term

SAME = 1e-9
"""Eigenvalues this close (relative to the largest) are one: a double keeps about 1e-14 of them."""


@dataclass(frozen=True)
class Spectrum:
    """A design turned into its residual space.

    Attributes
    ----------
    readings : int
        n.
    fixed : FixedPart
    columns : ndarray, shape (n, r)
        Q, the orthonormal fixed columns.
    finest : int
        Which term has the eigenvectors, in the caller's order.
    basis : ndarray, shape (n, d)
        K.
    weights : ndarray, shape (k, d)
        λ of each term along K; for the coarser term the diagonal of FFᵀ.
    low_rank : ndarray, shape (d, s), or None
        F where FFᵀ is not diagonal on K; None where all terms are.
    reach : tuple of ndarray, shape (q, r)
        ZᵢᵀQ of each term.
    span : tuple of ndarray, shape (d, q)
        KᵀZᵢ of each term.
    counts : ndarray, shape (q,)
        Readings in each level of the finest term; empty for loadings.
    """

    readings: int
    fixed: FixedPart
    columns: Floats
    finest: int
    basis: Floats
    weights: Floats
    low_rank: Floats | None
    reach: tuple[Floats, ...]
    span: tuple[Floats, ...]
    counts: Floats

    @property
    def free(self) -> int:
        """Residual degrees of freedom n − r."""
        return self.readings - self.fixed.rank


def loadings_of(term: Term, readings: int) -> Floats:
    """Return a term's columns of Z, shape (n, q)."""
    if term.loadings is not None:
        return term.loadings
    z = np.zeros((readings, term.levels))
    z[np.arange(readings), term.codes] = 1.0
    return z


def spectrum(X: Floats, terms: tuple[Term, ...]) -> Spectrum | None:
    """Turn a design into its residual space.

    Parameters
    ----------
    X : ndarray, shape (n, p)
    terms : tuple of Term
        None, one or two random terms.

    Returns
    -------
    Spectrum or None
        None where the design has no such form: more than two terms, or neither of two within the other.
    """
    if len(terms) > 2:
        return None
    columns, fixed = factor_columns(X)
    if not terms:
        nothing = np.zeros((X.shape[0], 0))
        return Spectrum(X.shape[0], fixed, columns, -1, nothing, np.zeros((0, 0)), None, (), (), np.zeros(0))
    z = [loadings_of(term, X.shape[0]) for term in terms]
    free = [each - columns @ (columns.T @ each) for each in z]
    finest = int(np.argmax([term.levels for term in terms]))
    basis, values = _eigenbasis(free[finest])
    if any(np.abs(f - basis @ (basis.T @ f)).max(initial=0.0) > 1e-8 for f in free):
        return None
    weights, low_rank = np.zeros((len(terms), values.size)), None
    if len(terms) == 2:
        basis, other, low_rank = _second_term(basis, values, basis.T @ free[1 - finest])
        weights[1 - finest] = other
    weights[finest] = values
    counts = z[finest].sum(axis=0) if terms[finest].codes is not None else np.zeros(0)
    return Spectrum(
        X.shape[0],
        fixed,
        columns,
        finest,
        basis,
        weights,
        low_rank,
        tuple(each.T @ columns for each in z),
        tuple(basis.T @ each for each in z),
        counts,
    )


def _eigenbasis(free: Floats) -> tuple[Floats, Floats]:
    """Return orthonormal residual directions of a term and their eigenvalues, equal ones made exactly equal."""
    vectors, singular, _ = np.linalg.svd(free, full_matrices=False)
    values = singular**2
    held = values > 1e-9 * values[0] if values.size else np.zeros(0, dtype=bool)
    values, vectors = values[held], vectors[:, held]
    start = 0
    for end in range(1, values.size + 1):
        if end == values.size or values[start] - values[end] > SAME * values[0]:
            values[start:end] = values[start:end].mean()
            start = end
    return vectors, values


def _second_term(basis: Floats, values: Floats, F: Floats) -> tuple[Floats, Floats, Floats | None]:
    """Turn the basis within equal eigenvalues so that FFᵀ is diagonal, or keep a narrow F."""
    turned, turned_f, weights = basis.copy(), F.copy(), np.zeros(values.size)
    for value in np.unique(values):
        pool = np.flatnonzero(values == value)
        left, singular, _ = np.linalg.svd(F[pool])
        turned[:, pool], turned_f[pool] = basis[:, pool] @ left, left.T @ F[pool]
        weights[pool[: singular.size]] = singular**2
    whole = turned_f @ turned_f.T
    largest = max(float(weights.max(initial=0.0)), 1e-300)
    if np.abs(whole - np.diag(np.diag(whole))).max() <= SAME * largest:
        weights[weights <= SAME * largest] = 0.0
        return turned, weights, None
    left, singular, _ = np.linalg.svd(F, full_matrices=False)
    held = singular > 1e-7 * singular[0]
    return basis, np.diag(F @ F.T).copy(), left[:, held] * singular[held]
