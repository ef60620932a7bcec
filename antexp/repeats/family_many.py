"""Limits for many records, each the limits that a judgement of that record alone would give."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import critical_values_many, unequal_df
from antexp.mixed.multivariate_t_alike import critical_values_alike

Floats = NDArray[np.float64]

# Correlations that differ by less are one: rounding of two routes to the same balanced design.
_SAME = 1e-9
# Up to so many gaps each correlation is a feature of its own; beyond, their means are.
_MOST_GAPS = 5
# Records looked up, beyond three a feature; a third of all shows what the regression may be off.
_PROBES = 30


def critical_many(covariances: Floats, df: Floats, confidence: float, edges: Floats) -> Floats:
    """Return half widths in standard errors for all gaps of each record together.

    Parameters
    ----------
    covariances : ndarray, shape (N, m, m), dB²
        Of the estimates of each record.
    df : ndarray, shape (N, m)
        Each at least 1.
    confidence : float
    edges : ndarray, shape (N, e)
        The critical values at which a record's verdicts change.

    Returns
    -------
    ndarray, shape (N, m)

    Notes
    -----
    Where the design is balanced all records share a correlation, and a value differs by its df alone. Else the value
    of the mean correlation is corrected by a regression on the record's own correlations, fitted to records that are
    looked up themselves; records with an edge within reach of what the regression may be off are looked up as well,
    so that no verdict rests on it.
    """
    if covariances.shape[1] == 1:
        return critical_values_many(np.ones((1, 1)), df, confidence)
    correlations = correlation_of(covariances)
    middle = correlations.mean(axis=0)
    middle = (middle + middle.T) / 2.0
    np.fill_diagonal(middle, 1.0)
    values = critical_values_many(middle, df, confidence)
    if np.abs(correlations - middle).max() < _SAME:
        return values
    kinds = unequal_df(df)
    for kind in (False, True):
        own = np.flatnonzero(kinds == kind)
        if own.size:
            values[own] = _corrected(correlations[own], df[own], values[own], confidence, edges[own])
    return values


def _corrected(correlations: Floats, df: Floats, values: Floats, confidence: float, edges: Floats) -> Floats:
    """Return the value of each record's own correlation, from that of the mean one."""
    features = _features(correlations, df)
    probes = 3 * features.shape[1] + _PROBES
    if len(df) <= probes:
        return _looked_up(np.arange(len(df)), correlations, df, values, confidence)
    picked = np.unique(np.linspace(0, len(df) - 1, probes).astype(np.intp))
    known = _looked_up(picked, correlations, df, values, confidence)[picked]
    ratio = np.log(known / values[picked]).mean(axis=1)
    held_out = np.arange(len(picked)) % 3 == 1
    weights = np.linalg.lstsq(features[picked[~held_out]], ratio[~held_out], rcond=1e-8)[0]
    reach = 3.0 * float(np.abs(ratio[held_out] - features[picked[held_out]] @ weights).max()) + 1e-6
    result = values * np.exp(features @ weights)[:, None]
    return _looked_up(_near(result, edges, reach), correlations, df, result, confidence)


def _features(correlations: Floats, df: Floats) -> Floats:
    """Return what a record's critical value depends on, shape (N, f): its correlations, their squares, and df."""
    i, j = np.triu_indices(correlations.shape[1], 1)
    each = correlations[:, i, j]
    if correlations.shape[1] > _MOST_GAPS:
        each = np.column_stack([each.mean(axis=1), np.sqrt((each**2).mean(axis=1))])
    square = each**2
    inverse = 1.0 / df.min(axis=1)[:, None]
    return np.column_stack([np.ones(len(df)), inverse, each, square, square * inverse])


def _looked_up(
    records: NDArray[np.intp], correlations: Floats, df: Floats, values: Floats, confidence: float
) -> Floats:
    """Return the values with those of some records looked up by their own correlations."""
    result = values.copy()
    result[records] = critical_values_alike(correlations[records], df[records], confidence)
    return result


def _near(values: Floats, edges: Floats, reach: float) -> NDArray[np.intp]:
    """Return the records with an edge within reach of their critical value."""
    low, high = values.min(axis=1) * (1.0 - reach), values.max(axis=1) * (1.0 + reach)
    return np.flatnonzero(((edges >= low[:, None]) & (edges <= high[:, None])).any(axis=1))
