"""Checks at the door of the family's functions: one clear message each, with what was given and what is allowed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats


def checked_correlation(correlation: ArrayLike) -> Floats:
    """Return the correlation as an exactly symmetric array with a unit diagonal.

    Parameters
    ----------
    correlation : array_like, shape (m, m)

    Returns
    -------
    ndarray, shape (m, m)

    Raises
    ------
    ValueError
        When it is not square, finite, symmetric, of unit diagonal and positive semi-definite.
    """
    matrix = np.asarray(correlation, dtype=float)
    if matrix.ndim != 2 or matrix.shape[0] != matrix.shape[1] or matrix.size == 0:
        raise ValueError(f"correlation has the wrong shape: got {matrix.shape}; allowed (m, m) with m ≥ 1.")
    if not np.all(np.isfinite(matrix)):
        raise ValueError(
            "correlation has entries that are not finite; allowed numbers from −1 to 1. Leave contrasts that cannot "
            "be estimated out of the family."
        )
    off_unit = float(np.max(np.abs(np.diag(matrix) - 1.0)))
    asymmetry = float(np.max(np.abs(matrix - matrix.T)))
    if off_unit > 1e-8 or asymmetry > 1e-8:
        raise ValueError(
            f"correlation is not a correlation matrix: got a diagonal off 1 by {off_unit:.2g} and an asymmetry of "
            f"{asymmetry:.2g}; allowed 1e-8. Divide the covariance by the standard errors first."
        )
    smallest = float(np.linalg.eigvalsh(matrix)[0])
    if smallest < -1e-6:
        raise ValueError(
            f"correlation is not positive semi-definite: got an eigenvalue of {smallest:.3g}; allowed ≥ 0."
        )
    matrix = np.clip(0.5 * (matrix + matrix.T), -1.0, 1.0)
    np.fill_diagonal(matrix, 1.0)
    return matrix


def checked_sides(sides: int) -> int:
    """Return sides; a ValueError unless it is 1 or 2."""
    if sides not in (1, 2):
        raise ValueError(f"sides is not known: got {sides!r}; allowed 1 or 2.")
    return sides


def checked_df(df: float) -> float:
    """Return df; a ValueError unless it is above 0. Infinity is allowed."""
    if not df > 0.0:
        raise ValueError(f"df is not positive: got {df!r}; allowed any number above 0, or infinity.")
    return float(df)


def checked_family_df(df: ArrayLike, m: int) -> Floats:
    """Return df as an array, shape (m,); a ValueError unless it is m numbers above 0."""
    freedom = np.asarray(df, dtype=float)
    if freedom.shape != (m,) or not np.all(freedom > 0.0):
        raise ValueError(f"df does not fit: got {freedom}; allowed {m} numbers above 0, one a contrast.")
    return freedom


def checked_confidence(confidence: float) -> float:
    """Return confidence; a ValueError unless it lies between 0 and 1."""
    if not 0.0 < confidence < 1.0:
        raise ValueError(f"confidence is not a probability: got {confidence!r}; allowed between 0 and 1.")
    return float(confidence)


def checked_t(t: ArrayLike, m: int, sides: int) -> Floats:
    """Return t as an array, shape (m,), without sign when two-sided; a ValueError unless it is one ratio a contrast."""
    ratio = np.asarray(t, dtype=float)
    if ratio.shape != (m,):
        raise ValueError(f"t does not fit: got shape {ratio.shape}; allowed ({m},), one a contrast.")
    return np.abs(ratio) if sides == 2 else ratio
