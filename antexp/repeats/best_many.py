"""Which candidates can still be the best, for many records at once (method section 5, ``best``)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.multivariate_t import critical_values_many
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, REAL_AND_MATTERS, REAL_MAY_MATTER, REAL_TOO_SMALL
from antexp.repeats.family_many import correlations_of, critical_many

Floats = NDArray[np.float64]


def best_limits(
    gaps: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_], confidence: float,
    matter_db: float | None,
) -> tuple[Floats, Floats, Floats, NDArray[np.str_]]:
    """Hold every candidate against the best of the others.

    Parameters
    ----------
    gaps : ndarray, shape (N, k − 1), dB
        Of the candidates to the reference.
    covariances : ndarray, shape (N, k − 1, k − 1), dB²
    df : ndarray, shape (N, k − 1)
    usable : ndarray of bool, shape (N,)
        False: no limits can be given.
    confidence : float
    matter_db : float or None, dB

    Returns
    -------
    gap_db, lower_db, upper_db : ndarray, shape (N, k), dB
        The reference first.
    verdict : ndarray of str, shape (N, k)

    References
    ----------
    Hsu (1984), Ann. Stat. 12:1136; Edwards & Hsu (1983), J. Am. Stat. Assoc. 78:965.
    """
    levels = np.hstack([np.zeros((len(gaps), 1)), gaps])
    k = levels.shape[1]
    contrast = np.vstack([np.zeros(k - 1), np.eye(k - 1)])
    rows = contrast[:, None, :] - contrast[None, :, :]  # (k, k, k − 1): i against j
    errors = np.sqrt(np.maximum(np.einsum("ijp,npq,ijq->nij", rows, covariances, rows), 0.0))
    difference = levels[:, :, None] - levels[:, None, :]
    dunnett = _one_sided(rows, covariances, df.min(axis=1), usable, confidence)
    off = ~np.eye(k, dtype=bool)
    upper = np.maximum(0.0, np.min(np.where(off, difference + dunnett[:, :, None] * errors, np.inf), axis=2))
    could = upper > 0
    rivals = could[:, None, :] & off
    lower = np.min(np.where(rivals, difference - dunnett[:, None, :] * errors, np.inf), axis=2)
    lower = np.where(rivals.any(axis=2), np.minimum(lower, 0.0), 0.0)
    gap = levels - np.max(np.where(off, levels[:, None, :], -np.inf), axis=2)
    lower[~usable], upper[~usable] = np.nan, np.nan
    worse = _far_below(difference, errors, covariances, df, usable, confidence, matter_db)
    return gap, lower, upper, _verdicts(lower, could, worse, usable, matter_db)


def _one_sided(
    rows: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_], confidence: float
) -> Floats:
    """Return each candidate's one-sided Dunnett value with itself as the control, shape (N, k)."""
    k = rows.shape[0]
    values = np.full((len(df), k), np.nan)
    for i in range(k):
        own = rows[i][np.arange(k) != i]
        correlations = correlations_of(own @ covariances[usable] @ own.T)
        if np.abs(correlations - correlations[:1]).max(initial=0.0) < 1e-9:
            correlations = correlations[:1]
        if usable.any():
            values[usable, i] = critical_values_many(correlations, df[usable], confidence, sides=1)
    return values


def _far_below(
    difference: Floats, errors: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_],
    confidence: float, matter_db: float | None,
) -> NDArray[np.bool_]:
    """Tell which candidates lie at least M below another by the all-pairs limits, shape (N, k)."""
    records, k, _ = difference.shape
    far = np.zeros((records, k), dtype=bool)
    if matter_db is None or not usable.any():
        return far
    i, j = np.triu_indices(k, 1)
    contrast = np.vstack([np.zeros(k - 1), np.eye(k - 1)])
    L = contrast[i] - contrast[j]
    least = np.repeat(df[usable].min(axis=1)[:, None], len(i), axis=1)
    size = np.abs(difference[usable][:, i, j])
    edges = (size - matter_db) / errors[usable][:, i, j]
    critical = critical_many(L @ covariances[usable] @ L.T, least, confidence, edges)
    half = np.zeros((int(usable.sum()), k, k))
    half[:, i, j] = half[:, j, i] = critical * errors[usable][:, i, j]
    off = ~np.eye(k, dtype=bool)
    far[usable] = np.min(np.where(off, difference[usable] + half, np.inf), axis=2) <= -matter_db
    return far


def _verdicts(
    lower: Floats, could: NDArray[np.bool_], far: NDArray[np.bool_], usable: NDArray[np.bool_],
    matter_db: float | None,
) -> NDArray[np.str_]:
    """Give each candidate its verdict."""
    known = np.broadcast_to(usable[:, None], lower.shape)
    if matter_db is None:
        return np.where(known & ~could, REAL_MAY_MATTER, CANNOT_TELL)
    near = lower > -matter_db
    return np.select(
        [~known, ~could & near, ~could & far, ~could, near],
        [CANNOT_TELL, REAL_TOO_SMALL, REAL_AND_MATTERS, REAL_MAY_MATTER, NO_GAP_THAT_MATTERS],
        default=CANNOT_TELL,
    )
