"""Limits for many records, each the very limits that a judgement of that record alone would give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.multivariate_t import critical_values_many, family_critical_values

Floats = NDArray[np.float64]

# Correlations that differ by less are one: rounding of two routes to the same balanced design.
_SAME = 1e-9
# Records whose own correlation is looked up to see how far critical values range over the correlations met.
_PROBES = 24


def correlations_of(covariances: Floats) -> Floats:
    """Return the correlation of each covariance matrix, exactly symmetric with unit diagonals, shape (N, m, m)."""
    scale = np.sqrt(np.einsum("nii->ni", covariances))
    scale = np.where(scale > 0, scale, 1.0)
    correlations = np.clip(covariances / (scale[:, :, None] * scale[:, None, :]), -1.0, 1.0)
    correlations = (correlations + np.swapaxes(correlations, 1, 2)) / 2.0
    correlations[:, np.arange(scale.shape[1]), np.arange(scale.shape[1])] = 1.0
    return correlations


def critical_many(covariances: Floats, df: Floats, confidence: float, edges: Floats | None = None) -> Floats:
    """Return half widths in standard errors for all gaps of each record together.

    Parameters
    ----------
    covariances : ndarray, shape (N, m, m), dB²
        Of the estimates of each record.
    df : ndarray, shape (N, m)
        Each at least 1.
    confidence : float
    edges : ndarray, shape (N, e), optional
        The critical values at which a record's verdicts change. Where correlations differ from record to record, a
        record gets the value of its own correlation only if one of its edges is near; else that of the mean
        correlation, which leads to the same verdicts and is off by the range over the records at most.

    Returns
    -------
    ndarray, shape (N, m)
    """
    if covariances.shape[1] == 1:
        return critical_values_many(np.ones((1, 1)), df, confidence)
    correlations = correlations_of(covariances)
    middle = correlations.mean(axis=0)
    middle = (middle + middle.T) / 2.0
    np.fill_diagonal(middle, 1.0)
    if np.abs(correlations - middle).max() < _SAME:
        return critical_values_many(middle, df, confidence)
    values = critical_values_many(middle, df, confidence)
    own = np.arange(len(df)) if edges is None else _near(values, edges, _range(correlations, df, values, confidence))
    for i in own:
        values[i] = family_critical_values(correlations[i], df[i], confidence)
    return values


def _range(correlations: Floats, df: Floats, values: Floats, confidence: float) -> float:
    """Return how far, relatively, the own value of a record may lie from that of the mean correlation.

    The records whose correlations lie farthest from the mean are looked up; twice what they show is allowed for.
    """
    distance = np.abs(correlations - correlations.mean(axis=0)).max(axis=(1, 2))
    probes = np.argsort(-distance, kind="stable")[:_PROBES]
    ratios = [family_critical_values(correlations[i], df[i], confidence) / values[i] - 1.0 for i in probes]
    return 2.0 * float(np.max(np.abs(ratios)))


def _near(values: Floats, edges: Floats, reach: float) -> NDArray[np.intp]:
    """Return the records with an edge within reach of their critical value."""
    low, high = values.min(axis=1) * (1.0 - reach), values.max(axis=1) * (1.0 + reach)
    return np.flatnonzero(((edges >= low[:, None]) & (edges <= high[:, None])).any(axis=1))
