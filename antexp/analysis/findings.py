"""What a record says, before it is put into the result: gaps, budgets, receivers, checks and warnings."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import pandas as pd

from antexp.analysis.best import BestComparison, compare_best
from antexp.analysis.budget_notices import budget_notices
from antexp.analysis.budget_result import GapBudgets
from antexp.analysis.checks.collect import check_notices, residual_checks
from antexp.analysis.checks.own_scatter import own_scatter_notices
from antexp.analysis.coarse_record import coarse_notices
from antexp.analysis.comparisons import Estimates, asked_pairs
from antexp.analysis.family_gaps import family_gaps
from antexp.analysis.gap_budgets import gap_budgets
from antexp.analysis.identifiable import check_identifiable
from antexp.analysis.looks import Look
from antexp.analysis.receivers import receivers_notices, receivers_seen
from antexp.analysis.record_fits import RecordFits, record_fits
from antexp.analysis.record_model import record_model
from antexp.analysis.record_notices import (
    best_notices,
    interval_notices,
    reading_notices,
    receiver_notices,
    small_block_notices,
    specimen_notices,
    step_notices,
    time_notices,
    zero_notices,
)
from antexp.analysis.result import Check, Receivers
from antexp.analysis.settings import Settings
from antexp.design.specimen_scopes import specimens_can_differ
from antexp.field.bench_book import BenchBook
from antexp.field.record import Record
from antexp.notices import Notice
from antexp.plan.model import Plan


@dataclass(frozen=True, eq=False)
class Findings:
    """What the fits of a record say.

    Attributes
    ----------
    fits : RecordFits
    best : BestComparison
    gaps : DataFrame
        One row a comparison and scope.
    estimates : Estimates
        Of the gaps that count.
    budgets : GapBudgets or None
    receivers : Receivers or None
    checks : tuple of Check
    notices : tuple of Notice
        Warnings from the fits on; those of reading the record stand with the record.
    """

    fits: RecordFits
    best: BestComparison
    gaps: pd.DataFrame
    estimates: Estimates
    budgets: GapBudgets | None
    receivers: Receivers | None
    checks: tuple[Check, ...]
    notices: tuple[Notice, ...]


def find(
    record: Record, reference: str, settings: Settings, *, look: Look | None, alpha: float, plan: Plan | None,
    bench: BenchBook | None,
) -> Findings:
    """Fit a record and ask it everything.

    Parameters
    ----------
    record : Record
        Its levels, corrected.
    reference : str
    settings : Settings
        With the confidence of this look.
    look : Look or None
        How far the experiment has come.
    alpha : float
        One less the confidence that was asked for over all looks.
    plan : Plan or None
    bench : BenchBook or None

    Raises
    ------
    JudgementError
        When the record cannot carry the model.
    """
    table = record.table
    model = record_model(table, reference=reference, drift=settings.drift)
    left_over = check_identifiable(table, model, settings.drift, str(record.path or "readings"))
    fits = record_fits(record, model, reference, settings.drift)
    best = compare_best(fits.of_best(), settings.confidence)
    gaps, estimates = family_gaps(fits, settings, best)
    if fits.coarse is not None and fits.spread().rehang_sd_db is None:
        # the step hides how hangings scatter, so that nothing says what more blocks would come to
        gaps = gaps.assign(more_blocks=pd.Series([None] * len(gaps), index=gaps.index, dtype=object))
    if look is not None:
        gaps = look.gaps(gaps, alpha)
    budgets = gap_budgets(table, gaps, estimates, settings, plan, bench)
    shown = asked_pairs(fits.candidates, "reference" if settings.compare == "best" else settings.compare)
    receivers = receivers_seen(table, reference, shown, settings)
    checks = residual_checks(fits.these, settings.drift) if fits.coarse is None else ()
    notices = (
        *_fit_notices(fits, record, settings, left_over),
        *interval_notices(gaps),
        *best_notices(settings),
        *budget_notices(budgets, fits.candidates, bench, plan),
        *check_notices(checks),
        *(own_scatter_notices(fits.these, gaps, settings.matter_db) if fits.coarse is None else []),
        *receivers_notices(receivers, model),
    )
    return Findings(fits, best, gaps, estimates, budgets, receivers, checks, notices)


def _fit_notices(
    fits: RecordFits, record: Record, settings: Settings, left_over: tuple[Notice, ...]
) -> Iterator[Notice]:
    """Say what the record's layout and its fits warn of, before the gaps do."""
    table, drift = fits.table, settings.drift
    if fits.coarse is None or not specimens_can_differ(table):
        yield from specimen_notices(table, fits.specimens)
    yield from reading_notices(table)
    yield from receiver_notices(table, fits.model)
    if fits.coarse is None:
        yield from zero_notices(fits.these)
    yield from left_over
    yield from small_block_notices(fits.model, drift)
    yield from time_notices(fits.model, asked_pairs(fits.candidates, settings.compare))
    yield from (step_notices(table, record.step_db) if fits.coarse is None
                else coarse_notices(fits.coarse, drift, record))
