"""Many small matrices at once: the records run along the last axis, so that every step is one long operation."""

from __future__ import annotations

import numpy as np

from antexp.mixed.arrays import Floats


def invert_small(matrices: Floats) -> tuple[Floats, Floats]:
    """Invert many small positive definite matrices by Gauss–Jordan over all of them at once.

    Parameters
    ----------
    matrices : ndarray, shape (N, s, s)

    Returns
    -------
    inverses : ndarray, shape (N, s, s)
    log_determinants : ndarray, shape (N,)

    Notes
    -----
    No pivoting: the matrices are I plus a positive semidefinite one.
    """
    work = np.ascontiguousarray(np.moveaxis(matrices, 0, -1))
    s, log_determinant = work.shape[0], np.zeros(work.shape[2])
    for i in range(s):
        pivot = work[i, i].copy()
        log_determinant += np.log(pivot)
        work[i, i] = 1.0
        work[i] /= pivot
        for j in range(s):
            if j != i:
                factor = work[j, i].copy()
                work[j, i] = 0.0
                work[j] -= factor * work[i]
    return np.moveaxis(work, -1, 0), log_determinant


def eliminate_small(border: Floats) -> tuple[Floats, Floats]:
    """Return log|A| and bᵀA⁻¹b for many small positive definite A, by elimination over all at once.

    Parameters
    ----------
    border : ndarray, shape (s, s + 1, N)
        A with b as its last column; overwritten.
    """
    s, _, size = border.shape
    log_determinant, form = np.zeros(size), np.zeros(size)
    for i in range(s):
        pivot = border[i, i]
        scaled = border[i, i + 1 :] / pivot
        log_determinant += np.log(pivot)
        form += border[i, s] * scaled[-1]
        for j in range(i + 1, s):
            border[j, j:] -= border[i, j] * scaled[j - i - 1 :]
    return log_determinant, form


def sweep_small(border: Floats) -> tuple[Floats, Floats]:
    """Invert many small positive definite A beside a right-hand side b, by sweeping over all at once.

    Parameters
    ----------
    border : ndarray, shape (s, s + 1, N)
        The upper triangle of A, with b as its last column; overwritten by the whole of A⁻¹, with A⁻¹b.

    Returns
    -------
    log_determinants : ndarray, shape (N,)
        log|A|.
    forms : ndarray, shape (N,)
        bᵀA⁻¹b.

    Notes
    -----
    The sweep keeps the matrix symmetric, so that half of it is enough (Goodnight 1979, Am. Stat. 33:149).
    """
    s, _, size = border.shape
    log_determinant, form = np.zeros(size), np.zeros(size)
    column, scaled, product = (np.empty((s + 1, size)) for _ in range(3))
    for k in range(s):
        pivot = border[k, k]
        column[:k], column[k], column[k + 1 :] = border[:k, k], 0.0, border[k, k + 1 :]
        np.divide(column, pivot, out=scaled)
        log_determinant += np.log(pivot)
        form += column[s] * scaled[s]
        for i in range(s):
            if i != k:
                border[i, i:] -= np.multiply(scaled[i], column[i:], out=product[i:])
        border[:k, k], border[k, k + 1 :] = scaled[:k], scaled[k + 1 :]
        border[k, k] = -1.0 / pivot
    np.negative(border[:, :s], out=border[:, :s])
    for i in range(s):
        border[i + 1 :, i] = border[i, i + 1 : s]
    return log_determinant, form


def times(matrices: Floats, vectors: Floats) -> Floats:
    """Multiply each matrix, shape (N, s, s), by its vector, shape (N, s)."""
    return np.asarray((matrices @ vectors[:, :, None])[:, :, 0])


def trace(matrices: Floats) -> Floats:
    """Return the trace of each matrix."""
    return np.einsum("nii->n", matrices)


def trace_product(a: Floats, b: Floats) -> Floats:
    """Return tr(ab) of each pair."""
    return np.einsum("nij,nji->n", a, b)
