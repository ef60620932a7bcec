"""The asked gaps of a planned day side by side: errors, degrees of freedom and critical values of the family."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import critical_values_many
from antexp.repeats.planned_gaps import PlannedGaps

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Family:
    """The asked gaps side by side, over K equally likely reports.

    Attributes
    ----------
    pairs : list of (str, str), length m
    scopes : list of str, length m
    true : ndarray, shape (m,), dB
        Standard errors of the estimates.
    reported : ndarray, shape (K, m), dB
        Standard errors as reported, root mean square where `scatter_df` is finite.
    df : ndarray, shape (K, m)
        As reported.
    scatter_df : ndarray, shape (m,)
        With which a report scatters about `reported`; infinite where the K reports are the scatter.
    critical : ndarray, shape (K, m)
        NaN without an interval. Beyond it a gap is real.
    lower_critical : ndarray, shape (K, m)
        That of the lower limit, which must lie above −M for `no gap that matters`; differs with ``best`` alone.
    """

    pairs: list[tuple[str, str]]
    scopes: list[str]
    true: Floats
    reported: Floats
    df: Floats
    scatter_df: Floats
    critical: Floats
    lower_critical: Floats


def planned_family(planned: Sequence[PlannedGaps], compare: str, confidence: float) -> Family:
    """Put the gaps of all scopes together as one family.

    Parameters
    ----------
    planned : sequence of PlannedGaps
        One a scope.
    compare : {"reference", "each-other", "best"}
        With ``best`` every candidate stands against each other: by the value of all pairs for a real gap, by the
        one-sided Dunnett value of the first named for how far it may fall short.
    confidence : float
    """
    return _best_family(planned[0], confidence) if compare == "best" else _family(planned, confidence)


def _family(planned: Sequence[PlannedGaps], confidence: float) -> Family:
    """Put the scopes together as one family; between fits the correlation is set to zero (Royen 2014)."""
    correlation = linalg.block_diag(*(correlation_of(part.reported_covariance_db2) for part in planned))
    reports = max(1 if part.nodes is None else len(part.nodes.standard_error_db) for part in planned)
    reported = np.hstack([_reported(part, reports) for part in planned])
    df = np.hstack([_df(part, reports) for part in planned])
    critical = np.full(df.shape, np.nan)
    usable = (np.isfinite(reported) & (reported > 0) & (df >= 1)).all(axis=1)
    if usable.any():
        critical[usable] = critical_values_many(correlation, df[usable], confidence)
    return Family([pair for part in planned for pair in part.pairs],
                  [part.scope for part in planned for _ in part.pairs],
                  np.concatenate([np.sqrt(np.diag(part.true_covariance_db2)) for part in planned]), reported, df,
                  np.concatenate([scatter_of(part) for part in planned]), critical, critical)


def _reported(part: PlannedGaps, reports: int) -> Floats:
    """Return the standard errors of the reports."""
    if part.nodes is not None:
        return part.nodes.standard_error_db
    return np.tile(np.sqrt(np.diag(part.reported_covariance_db2)), (reports, 1))


def _df(part: PlannedGaps, reports: int) -> Floats:
    """Return the degrees of freedom of the reports."""
    return part.nodes.degrees_of_freedom if part.nodes is not None else np.tile(part.degrees_of_freedom, (reports, 1))


def scatter_of(part: PlannedGaps) -> Floats:
    """Return the degrees of freedom of a report's scatter; none where the reports themselves are it."""
    return part.scatter_df if part.nodes is None else np.full(len(part.pairs), np.inf)


def _best_family(part: PlannedGaps, confidence: float) -> Family:
    """List every candidate against every other: the value of all pairs, and the one-sided one of the first named."""
    names = list(dict.fromkeys(name for pair in part.pairs for name in pair))
    where = {pair: i for i, pair in enumerate(part.pairs)}
    reports = 1 if part.nodes is None else len(part.nodes.standard_error_db)
    errors, df = _reported(part, reports), _df(part, reports)
    pairs: list[tuple[str, str]] = []
    rows: list[int] = []
    lower: list[Floats] = []
    for control in names:
        own = [(control, name) for name in names if name != control]
        place = [where[pair] if pair in where else where[pair[::-1]] for pair in own]
        signs = np.array([1.0 if pair in where else -1.0 for pair in own])
        covariance = part.reported_covariance_db2[np.ix_(place, place)] * np.outer(signs, signs)
        freedom = df[:, place]
        value = np.full(freedom.shape, np.nan)
        usable = (freedom >= 1).all(axis=1)
        if usable.any():
            value[usable] = critical_values_many(correlation_of(covariance), freedom[usable], confidence, sides=1)
        pairs, rows = [*pairs, *own], [*rows, *place]
        lower.append(value)
    every = _family([part], confidence)
    return Family(pairs, [part.scope] * len(pairs), every.true[rows], errors[:, rows], df[:, rows],
                  every.scatter_df[rows], every.critical[:, rows], np.hstack(lower))
