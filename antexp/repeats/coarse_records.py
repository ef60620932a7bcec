"""Records of a coarse meter within a rehearsal, judged by the likelihood of intervals as `judge` does (section 9)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.correlation import correlation_of
from antexp.mixed.intervals import fit_intervals
from antexp.mixed.many_responses import many_responses
from antexp.mixed.multivariate_t import family_critical_values
from antexp.repeats.scoped_model import ScopedModels

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class CoarseLimits:
    """Gaps of records that were fitted as ranges.

    Attributes
    ----------
    gap_db, lower_db, upper_db : ndarray, shape (N, m), dB
        In the order of ``models.these.pairs``.
    covariance_db2 : ndarray, shape (N, m, m), dB²
    degrees_of_freedom : ndarray, shape (N, m)
    """

    gap_db: Floats
    lower_db: Floats
    upper_db: Floats
    covariance_db2: Floats
    degrees_of_freedom: Floats


def is_coarse(models: ScopedModels, Y: Floats, step_db: float | None) -> NDArray[np.bool_]:
    """Tell for which records the rounding sticks to the swap.

    Parameters
    ----------
    models : ScopedModels
    Y : ndarray, shape (n, N), dB
    step_db : float or None, dB
        Step of the display.

    Returns
    -------
    ndarray of bool, shape (N,)
        Where the residual scatter of swap means is below half a step.
    """
    if step_db is None:
        return np.zeros(Y.shape[1], dtype=bool)
    counts = np.bincount(models.swap)
    order = np.argsort(models.swap, kind="stable")
    starts = np.r_[0, np.cumsum(counts)[:-1]]
    X = np.add.reduceat(models.these.model.X[order], starts, axis=0) / counts[:, None]
    means = np.add.reduceat(Y[order], starts, axis=0) / counts[:, None]
    Q = np.linalg.qr(X)[0]
    residual = means - Q @ (Q.T @ means)
    left = len(counts) - X.shape[1]
    return np.asarray(np.sqrt(np.einsum("ij,ij->j", residual, residual) / left) < step_db / 2.0)


def coarse_limits(models: ScopedModels, Y: Floats, step_db: float, confidence: float) -> CoarseLimits:
    """Fit records as ranges, one by one.

    Parameters
    ----------
    models : ScopedModels
    Y : ndarray, shape (n, N), dB
    step_db : float, dB
    confidence : float

    Returns
    -------
    CoarseLimits
        With the ordinary fit's degrees of freedom, never more than the swaps leave.
    """
    these = models.these
    many = many_responses(Y, these.model.X, these.groups, these.L, these.at_zero, covariances=True)
    assert many.covariances is not None
    ordinary = many.degrees_of_freedom
    left = float(int(models.swap.max()) + 1 - these.model.X.shape[1])
    df = np.where(ordinary >= 1, np.minimum(ordinary, left), left)
    m = len(these.pairs)
    found = CoarseLimits(np.empty((len(df), m)), np.empty((len(df), m)), np.empty((len(df), m)),
                         np.empty((len(df), m, m)), df)
    for i, y in enumerate(Y.T):
        fit = fit_intervals(y - step_db / 2.0, y + step_db / 2.0, these.model.X, models.swap)
        covariance = fit.covariance(these.L, float(df[i].min()))
        correlation = correlation_of(_finite(many.covariances[i]))
        critical = family_critical_values(correlation, df[i], confidence)
        lower, upper = np.array([fit.limits(row, c, d) for row, c, d in zip(these.L, critical, df[i], strict=True)]).T
        half = _plain_half_widths(many.standard_errors[i], ordinary[i], correlation, confidence)
        found.gap_db[i], found.covariance_db2[i] = fit.gaps(these.L), covariance
        found.lower_db[i] = np.fmin(lower, many.estimates[i] - half)
        found.upper_db[i] = np.fmax(upper, many.estimates[i] + half)
    return found


def _plain_half_widths(error: Floats, df: Floats, correlation: Floats, confidence: float) -> Floats:
    """Return the half widths of the same readings taken as plain numbers, shape (m,); NaN where there are none.

    Limits reach as far as the wider of the two (see `antexp.analysis.coarse_record.CoarseFit.family`).
    """
    if not (np.all(np.isfinite(error)) and np.all(error > 0) and np.all(df >= 1)):
        return np.full(len(error), np.nan)
    return np.asarray(family_critical_values(correlation, df, confidence) * error)


def _finite(covariance: Floats) -> Floats:
    """Return the covariance with what is not known about a gap taken as independent of the others."""
    lost = ~np.isfinite(np.diag(covariance))
    kept = covariance.copy()
    kept[lost, :] = kept[:, lost] = 0.0
    kept[lost, lost] = 1.0
    return kept
