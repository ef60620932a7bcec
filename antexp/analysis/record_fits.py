"""The fits of one record that its judgement rests on."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from antexp.analysis.coarse_record import CoarseFit, coarse_fit
from antexp.analysis.comparisons import asked_pairs
from antexp.analysis.record_model import RecordModel
from antexp.analysis.scopes import ScopedFit, fit_any, fit_these, pairs_by_scope
from antexp.analysis.spread_result import Spread
from antexp.analysis.spreads import spread_seen
from antexp.field.record import Record


@dataclass(frozen=True, eq=False)
class RecordFits:
    """A record, fitted in every way that its verdicts need.

    Attributes
    ----------
    table : DataFrame
        The record's readings.
    these : ScopedFit
        With every specimen a level of its own.
    coarse : CoarseFit or None
        The readings as ranges; None where the meter's step is fine beside the scatter.
    specimens : ScopedFit or None
        With specimens as a random draw; None where too few tell how they differ, or the meter is coarse.
    """

    table: pd.DataFrame
    these: ScopedFit
    coarse: CoarseFit | None
    specimens: ScopedFit | None

    @property
    def model(self) -> RecordModel:
        """The arrays with every specimen a level of its own."""
        return self.these.record

    @property
    def candidates(self) -> tuple[str, ...]:
        """The candidates in the record, the reference first."""
        return self.model.model.candidates

    @property
    def these_or_coarse(self) -> ScopedFit:
        """The fit that answers for these specimens: that of the ranges where the meter is coarse."""
        return self.coarse or self.these

    def of_best(self) -> ScopedFit:
        """Return the fit that "the best" rests on: any specimen only when every candidate has at least two."""
        if self.specimens is None:
            return self.these_or_coarse
        wide, narrow = self.by_scope(asked_pairs(self.candidates, "reference"))
        return self.specimens if wide and not narrow else self.these

    def by_scope(self, pairs: list[tuple[str, str]]) -> tuple[list[tuple[str, str]], list[tuple[str, str]]]:
        """Split gaps into those answered for any specimen and those answered for these specimens."""
        return pairs_by_scope(pairs, self.table, self.specimens)

    def spread(self) -> Spread:
        """Return the scatters seen."""
        return self.coarse.spread() if self.coarse is not None else spread_seen(self.table, self.these, self.specimens)


def record_fits(record: Record, model: RecordModel, reference: str, drift: str) -> RecordFits:
    """Fit a record.

    Parameters
    ----------
    record : Record
        Its levels, corrected.
    model : RecordModel
        Its arrays with every specimen a level of its own, known to be identifiable.
    reference : str
        The candidate listed first.
    drift : str
        Form of drift.
    """
    these = fit_these(model)
    coarse = coarse_fit(record, these, drift)
    return RecordFits(
        record.table, these, coarse, fit_any(record.table, reference, drift) if coarse is None else None
    )
