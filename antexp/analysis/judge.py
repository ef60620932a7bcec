"""The judgement: from readings to gaps, limits and verdicts."""

from __future__ import annotations

import os
from difflib import get_close_matches
from pathlib import Path

import numpy as np
import pandas as pd

from antexp.analysis.best import BestComparison, compare_best
from antexp.analysis.budget_notices import budget_notices
from antexp.analysis.checks.collect import check_notices, residual_checks
from antexp.analysis.checks.own_scatter import own_scatter_notices
from antexp.analysis.coarse_record import CoarseFit, coarse_fit, coarse_notices, with_levels
from antexp.analysis.comparisons import Estimates, asked_pairs, family_limits, joined
from antexp.analysis.day import day_of
from antexp.analysis.flat_record import flat_judgement, is_flat
from antexp.analysis.gap_budgets import gap_budgets
from antexp.analysis.gap_table import gap_rows
from antexp.analysis.identifiable import check_identifiable
from antexp.analysis.in_step import check_in_step
from antexp.analysis.looks import look_of
from antexp.analysis.noise_floor import without_noise
from antexp.analysis.provenance import provenance
from antexp.analysis.receivers import receivers_notices, receivers_seen
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
from antexp.analysis.result import Judgement
from antexp.analysis.scopes import ANY, THESE, ScopedFit, fit_any, fit_these, pairs_by_scope
from antexp.analysis.second_opinions.asked import Asked
from antexp.analysis.second_opinions.collect import second_opinions as second_opinions_of
from antexp.analysis.settings import Settings, settle
from antexp.analysis.spreads import drift_seen, spread_seen
from antexp.design.order_document import Order
from antexp.design.order_file import read_order
from antexp.errors import Fault, JudgementError
from antexp.field.bench_book import BenchBook, read_bench_book
from antexp.field.readings import read_readings
from antexp.field.record import Record
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.reader import read_plan

PathLike = str | os.PathLike[str]


def judge(
    readings: PathLike | pd.DataFrame,
    plan: PathLike | Plan | None = None,
    order: PathLike | Order | None = None,
    *,
    reference: str | None = None,
    matter_db: float | None = None,
    confidence: float | None = None,
    compare: str | None = None,
    drift: str | None = None,
    chance: float | None = None,
    bench: PathLike | BenchBook | None = None,
    second_opinions: bool = False,
) -> Judgement:
    """Judge which gaps of a record are real, and which of them matter.

    Parameters
    ----------
    readings : path or DataFrame
        One row a reading; the columns are those of the readings file.
    plan : path or Plan, optional
        The plan the record belongs to.
    order : path or Order, optional
        The order it followed; looks up candidates by swap where the readings do not name them.
    reference : str, optional
        The candidate the others are compared with; left out: the plan's, else the first that occurs.
    matter_db : float, optional, dB
        The smallest gap that would change the user's choice.
    confidence : float, optional
        Of all comparisons together; left out: the plan's, else 0.95.
    compare : {"reference", "each-other", "best"}, optional
        Left out: the plan's, else ``reference``.
    drift : {"none", "steady", "curved", "wandering"}, optional
        Form of drift inside each block; left out: the plan's, else ``steady``.
    chance : float, optional
        Wanted chance of noticing, for `detectable_db`; left out: the plan's, else 0.80.
    bench : path or BenchBook, optional
        Measurements at the bench: matches of specimens whose readings carry none, for the gap budgets.
    second_opinions : bool
        Ask other methods too, which takes a few seconds; the command does when it writes a report.

    Returns
    -------
    Judgement
        Gaps, limits, verdicts, spreads, drift and warnings.

    Raises
    ------
    PlanError, OrderError, ReadingsError, FileError
        When an input is at fault; all faults at once.
    JudgementError
        When the record cannot be judged in the way that was asked.

    Notes
    -----
    The model is M1 of the method, fitted by REML with Kenward-Roger inference; limits hold for all comparisons
    together through the multivariate t.
    """
    the_plan = plan if plan is None or isinstance(plan, Plan) else read_plan(plan)
    the_order = order if order is None or isinstance(order, Order) else read_order(order)
    the_bench = bench if bench is None or isinstance(bench, BenchBook) else read_bench_book(bench, the_plan)
    settings, notices = settle(the_plan, reference, compare, confidence, chance, matter_db, drift)
    record = read_readings(readings, plan=the_plan, order=the_order)
    if the_order is not None:
        check_in_step(record.table, the_order.table, str(record.path or "readings"))
    return judge_record(record, settings, the_plan, notices, the_order, second_opinions, the_bench)


def judge_record(
    record: Record,
    settings: Settings,
    plan: Plan | None = None,
    notices: tuple[Notice, ...] = (),
    order: Order | None = None,
    ask_others: bool = False,
    bench: BenchBook | None = None,
) -> Judgement:
    """Judge a record that has been read; see `judge`."""
    record, noise_notices = without_noise(with_levels(record))
    table = record.table
    where = str(record.path or "readings")
    reference = _reference(table, settings.reference, where)
    if is_flat(table):
        return flat_judgement(record, settings, reference, provenance(record, plan, settings), notices)
    look = look_of(record, plan, order, 1.0 - settings.confidence)
    asked, settings = settings, look.settings(settings) if look is not None else settings
    model = record_model(table, reference=reference, drift=settings.drift)
    left_notices = check_identifiable(table, model, settings.drift, where)
    these = fit_these(model, settings.drift)
    coarse = coarse_fit(record, these, settings.drift)
    specimens = fit_any(table, reference, settings.drift) if coarse is None else None
    candidates = model.model.candidates
    best = compare_best(_best_fit(coarse or these, specimens, candidates), settings.confidence)
    gaps, estimates = _gaps(table, coarse or these, specimens, settings, best)
    if look is not None:
        gaps = look.gaps(gaps, 1.0 - asked.confidence)
    pairs = asked_pairs(candidates, settings.compare)
    step_db = record.step_db
    budgets = gap_budgets(table, gaps, estimates, settings, plan, bench)
    receivers = receivers_seen(table, reference, asked_pairs(candidates, _plain_compare(settings)), settings)
    checks = residual_checks(these, settings.drift) if coarse is None else ()
    found = [
        *notices,
        *record.notices,
        *specimen_notices(table, specimens),
        *reading_notices(table),
        *receiver_notices(table, model),
        *(zero_notices(these) if coarse is None else []),
        *left_notices,
        *small_block_notices(model, settings.drift),
        *time_notices(model, pairs),
        *(coarse_notices(coarse, settings.drift, step_db) if coarse is not None else step_notices(table, step_db)),
        *interval_notices(gaps),
        *best_notices(settings),
        *budget_notices(budgets, candidates, bench, plan),
        *check_notices(checks),
        *(own_scatter_notices(these, gaps) if coarse is None else []),
        *receivers_notices(receivers, model),
        *noise_notices,
        *(look.notices(gaps) if look is not None else []),
    ]
    return Judgement(
        title=_title(record, plan),
        reference=reference,
        compare=settings.compare,
        confidence=asked.confidence,
        chance=settings.chance,
        matter_db=settings.matter_db,
        readings=len(table),
        swaps=int(table["swap"].nunique()),
        blocks=int(table["block"].nunique()),
        candidates=candidates,
        gaps=gaps,
        gaps_covariance_db2=estimates.covariance_db2,
        gaps_covariance_of=estimates.pairs,
        could_be_best=best.could_be_best,
        spread=coarse.spread() if coarse is not None else spread_seen(table, these, specimens),
        drift=drift_seen(these, settings.drift),
        restricted_log_likelihood=these.restricted_log_likelihood,
        warnings=tuple(found),
        provenance=provenance(record, plan, asked),
        day=day_of(table, these),
        budgets=budgets,
        second_opinions=(
            second_opinions_of(_asked(table, coarse or these, specimens, settings, estimates), order)
            if ask_others
            else ()
        ),
        checks=checks,
        look=look,
        specimens=model.model.specimens,
        receivers=receivers,
    )


def _plain_compare(settings: Settings) -> str:
    """Return the comparison that rows of single gaps answer."""
    return "reference" if settings.compare == "best" else settings.compare


def _asked(
    table: pd.DataFrame, these: ScopedFit, specimens: ScopedFit | None, settings: Settings, family: Estimates
) -> Asked:
    """Hand the judgement to other methods."""
    wide, narrow = pairs_by_scope(list(family.pairs), table, specimens)
    parts = [(specimens, wide)] if specimens is not None and wide else []
    return Asked((*parts, *([(these, narrow)] if narrow else [])), these, family, settings)


def _gaps(
    table: pd.DataFrame, these: ScopedFit, specimens: ScopedFit | None, settings: Settings, best: BestComparison
) -> tuple[pd.DataFrame, Estimates]:
    """Return the table of gaps, and the estimates of the family."""
    candidates = these.record.model.candidates
    blocks = int(table["block"].nunique())
    pairs = asked_pairs(candidates, settings.compare)
    wide, narrow = pairs_by_scope(pairs, table, specimens)
    if isinstance(these, CoarseFit) and settings.compare != "best":
        family, limits = these.family(pairs, settings.confidence, settings.chance)
        rows = gap_rows(family, limits, [THESE] * len(pairs), settings.matter_db, blocks, counts=True)
        return rows, family
    parts = [specimens.estimates(wide)] if specimens is not None and wide else []
    parts += [these.estimates(narrow)] if narrow else []
    family = joined(parts)
    if settings.compare == "best":
        return best.table(settings, blocks), family
    limits = family_limits(family, settings.confidence, settings.chance)
    scopes = [ANY] * len(wide) + [THESE] * len(narrow)
    tables = [gap_rows(family, limits, scopes, settings.matter_db, blocks, counts=True)]
    if wide:
        beside = these.estimates(wide)
        beside_limits = family_limits(beside, settings.confidence, settings.chance)
        tables.append(gap_rows(beside, beside_limits, [THESE] * len(wide), settings.matter_db, blocks, counts=False))
    return _in_order(pd.concat(tables, ignore_index=True), pairs), family


def _in_order(rows: pd.DataFrame, pairs: list[tuple[str, str]]) -> pd.DataFrame:
    """Sort the rows as the comparisons were asked, the row that counts before the one beside it."""
    place = {pair: i for i, pair in enumerate(pairs)}
    keys = np.array([place[pair] for pair in zip(rows["candidate"], rows["against"], strict=True)])
    order = np.lexsort((~rows["counts"].to_numpy(bool), keys))
    return rows.iloc[order].reset_index(drop=True)


def _best_fit(these: ScopedFit, specimens: ScopedFit | None, candidates: tuple[str, ...]) -> ScopedFit:
    """Return the fit that "the best" rests on: any specimen only when every candidate has at least two."""
    if specimens is None:
        return these
    wide, narrow = pairs_by_scope(asked_pairs(candidates, "reference"), specimens.record.rows, specimens)
    return specimens if wide and not narrow else these


def _title(record: Record, plan: Plan | None) -> str:
    """Return the plan's title, else the name of the readings file; a question mark stands where that is no text."""
    named = plan.title if plan is not None else None
    name = Path(record.path).name.encode("utf-8", "replace").decode("utf-8") if record.path else "Readings"
    return named or name


def _reference(table: pd.DataFrame, wanted: str | None, where: str) -> str:
    """Return the reference, or say that it is not in the record."""
    present = list(dict.fromkeys(table["candidate"].astype(str)))
    if wanted is None:
        return present[0]
    if wanted in present:
        return wanted
    near = get_close_matches(wanted, present, 1)
    raise JudgementError(
        Fault(
            "the reference does not occur in the record",
            where,
            repr(wanted),
            ", ".join(repr(name) for name in present[:12]),
            f"Did you mean {near[0]!r}?" if near else "Name one of these with --reference.",
        )
    )

