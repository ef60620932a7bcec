"""What a gap is about: these specimens, or any specimen of the candidate (method section 2)."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from antexp.analysis.comparisons import Estimates
from antexp.analysis.receiver_weights import fit_weighted, likelihood_shift
from antexp.analysis.record_model import RecordModel, record_model
from antexp.design.estimable import is_full_rank
from antexp.design.random_terms import at_zero_of
from antexp.design.specimen_scopes import ANY, THESE, pairs_of_many, specimens_can_differ
from antexp.mixed.fit import RemlFit


@dataclass(frozen=True)
class ScopedFit:
    """One fit of the record.

    Attributes
    ----------
    scope : str
        `THESE` or `ANY`.
    record : RecordModel
        The arrays that were fitted.
    fit : RemlFit
        The kernel's answer.
    """

    scope: str
    record: RecordModel
    fit: RemlFit

    def estimates(self, pairs: list[tuple[str, str]]) -> Estimates:
        """Return the gaps of the pairs with their small-sample covariance."""
        found = self.fit.contrasts(self.record.model.gaps(pairs))
        return Estimates(tuple(pairs), found.estimates, found.covariance, found.degrees_of_freedom)

    @property
    def restricted_log_likelihood(self) -> float:
        """Of the readings themselves, whatever their weights."""
        shift = likelihood_shift(self.record.model.X, self.record.weights, self.fit.aliased)
        return float(self.fit.restricted_log_likelihood) + shift


def fit_these(record: RecordModel) -> ScopedFit:
    """Fit the record with every specimen as a level of its own."""
    return ScopedFit(THESE, record, _fit(record))


def fit_any(table: pd.DataFrame, reference: str, drift: str) -> ScopedFit | None:
    """Fit the record with specimens as a random draw of their candidates.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    reference : str
        The candidate listed first.
    drift : str
        Form of drift.

    Returns
    -------
    ScopedFit or None
        None when there are too few specimens to say how they differ.
    """
    if not specimens_can_differ(table):
        return None
    record = record_model(table, reference=reference, drift=drift, specimens_random=True)
    if not is_full_rank(record.model):
        return None
    return ScopedFit(ANY, record, _fit(record))


def pairs_by_scope(
    pairs: list[tuple[str, str]], table: pd.DataFrame, any_fit: ScopedFit | None
) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
    """Split the asked gaps by the scope of their verdict.

    Returns
    -------
    any_pairs, these_pairs : list of (str, str)
        Gaps whose candidates both have at least two specimens, where specimens can be judged; and the rest.
    """
    if any_fit is None:
        return [], pairs
    wide = pairs_of_many(table, pairs)
    return wide, [pair for pair in pairs if pair not in wide]


def _fit(record: RecordModel) -> RemlFit:
    """Fit by REML."""
    return fit_weighted(record.level_db, record.model.X, record.groups, record.weights, at_zero_of(record.groups))
