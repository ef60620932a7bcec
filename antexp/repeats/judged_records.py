"""Judging many records of one layout, each the way `judge` does (method sections 2 to 5 and 9)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.correlation import correlation_of
from antexp.mixed.many_responses import ManyFits, many_responses
from antexp.mixed.multivariate_t import family_critical_values
from antexp.mixed.verdict import classify
from antexp.repeats.best_many import best_limits
from antexp.repeats.coarse_records import coarse_limits, is_coarse
from antexp.repeats.family_many import critical_many
from antexp.repeats.scoped_model import ScopedModels

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Question:
    """What the records are judged for.

    Attributes
    ----------
    compare : {"reference", "each-other", "best"}
    matter_db : float or None, dB
    confidence : float
    step_db : float or None, dB
        Step of the display that the readings were rounded to.
    """

    compare: str
    matter_db: float | None
    confidence: float
    step_db: float | None


@dataclass(frozen=True)
class Judged:
    """Records with their verdicts.

    Attributes
    ----------
    gap_db : ndarray, shape (N, m), dB
        Estimates, in the order of the models' pairs; with ``best`` one column a candidate, the reference first.
    lower_db, upper_db : ndarray, shape (N, m), dB
        Limits for all gaps together; NaN without an interval.
    verdict : ndarray of str, shape (N, m)
    """

    gap_db: Floats
    lower_db: Floats
    upper_db: Floats
    verdict: NDArray[np.str_]


def judge_records(models: ScopedModels, Y: Floats, asked: Question) -> Judged:
    """Judge records.

    Parameters
    ----------
    models : ScopedModels
        Of the readings' layout.
    Y : ndarray, shape (n, N), dB
        One column a record.
    asked : Question
    """
    coarse = is_coarse(models, Y, asked.step_db) & (Y.max(axis=0) > Y.min(axis=0))
    if not coarse.any():
        return _ordinary(models, Y, asked)
    ranges = _as_ranges(models, Y[:, coarse], asked)
    if coarse.all():
        return ranges
    fine = _ordinary(models, Y[:, ~coarse], asked)
    together = {}
    for name in ("gap_db", "lower_db", "upper_db", "verdict"):
        one, other = getattr(fine, name), getattr(ranges, name)
        values = np.empty((len(coarse), one.shape[1]), dtype=one.dtype)
        values[~coarse], values[coarse] = one, other
        together[name] = values
    return Judged(**together)


def _ordinary(models: ScopedModels, Y: Floats, asked: Question) -> Judged:
    """Judge records by REML."""
    fits = [many_responses(Y, scope.model.X, scope.groups, scope.L, scope.at_zero, covariances=True)
            for scope in models.scopes]
    estimates = np.hstack([fit.estimates for fit in fits])
    covariances = _joined([fit.covariances for fit in fits if fit.covariances is not None])
    df = np.hstack([fit.degrees_of_freedom for fit in fits])
    errors = np.sqrt(np.maximum(np.einsum("nii->ni", covariances), 0.0))
    flat = (Y.max(axis=0) == Y.min(axis=0))[:, None]
    with np.errstate(invalid="ignore"):
        usable = np.isfinite(errors) & (errors > 0) & (df >= 1) & ~_no_interval(fits) & ~flat
    if asked.compare == "best":
        return Judged(*best_limits(estimates, covariances, df, usable.all(axis=1), asked.confidence, asked.matter_db))
    half = errors * _critical(estimates, covariances, df, usable, errors, asked)
    lower, upper = estimates - half, estimates + half
    return Judged(estimates, lower, upper, classify(lower, upper, asked.matter_db))


def _as_ranges(models: ScopedModels, Y: Floats, asked: Question) -> Judged:
    """Judge records of a coarse meter."""
    assert asked.step_db is not None
    found = coarse_limits(models, Y, asked.step_db, asked.confidence)
    if asked.compare == "best":
        errors = np.sqrt(np.einsum("nii->ni", found.covariance_db2))
        usable = np.all(np.isfinite(errors) & (errors > 0) & (found.degrees_of_freedom >= 1), axis=1)
        covariance = np.where(usable[:, None, None], found.covariance_db2, 1.0)
        return Judged(*best_limits(found.gap_db, covariance, found.degrees_of_freedom, usable, asked.confidence,
                                   asked.matter_db))
    place = [models.these.pairs.index(pair) for pair in models.pairs]
    lower, upper = found.lower_db[:, place], found.upper_db[:, place]
    return Judged(found.gap_db[:, place], lower, upper, classify(lower, upper, asked.matter_db))


def _joined(covariances: Sequence[Floats]) -> Floats:
    """Put the covariances of several fits side by side; between fits zero (method section 5)."""
    if len(covariances) == 1:
        return covariances[0]
    sizes = [part.shape[1] for part in covariances]
    joined = np.zeros((len(covariances[0]), sum(sizes), sum(sizes)))
    start = 0
    for part, size in zip(covariances, sizes, strict=True):
        joined[:, start : start + size, start : start + size] = part
        start += size
    return joined


def _no_interval(fits: Sequence[ManyFits]) -> NDArray[np.bool_]:
    """Return where the kernel refuses an interval."""
    return np.hstack([fit.no_interval for fit in fits]).astype(bool)


def _critical(
    estimates: Floats, covariances: Floats, df: Floats, usable: NDArray[np.bool_], errors: Floats, asked: Question
) -> Floats:
    """Return each record's critical values; gaps without an interval leave the family."""
    critical = np.full(estimates.shape, np.nan)
    whole = np.flatnonzero(usable.all(axis=1))
    if whole.size:
        edges = _edges(estimates[whole] / errors[whole], errors[whole], asked.matter_db)
        critical[whole] = critical_many(covariances[whole], df[whole], asked.confidence, edges)
    for i in np.flatnonzero(usable.any(axis=1) & ~usable.all(axis=1)):
        kept = np.flatnonzero(usable[i])
        correlation = correlation_of(covariances[i][np.ix_(kept, kept)])
        critical[i, kept] = family_critical_values(correlation, df[i, kept], asked.confidence)
    return critical


def _edges(t: Floats, errors: Floats, matter_db: float | None) -> Floats:
    """Return the critical values at which a verdict changes: a limit at 0, at M or at −M."""
    if matter_db is None:
        return np.abs(t)
    matter = matter_db / errors
    return np.hstack([np.abs(t), np.abs(t - matter), np.abs(t + matter)])
