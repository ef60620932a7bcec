"""The judgement: from readings to gaps, limits and verdicts."""

from __future__ import annotations

import os
from dataclasses import replace
from difflib import get_close_matches
from pathlib import Path

import pandas as pd

from antexp.analysis.coarse_record import with_levels
from antexp.analysis.day import day_of
from antexp.analysis.findings import Findings, find
from antexp.analysis.flat_record import flat_judgement, is_flat
from antexp.analysis.in_step import check_in_step
from antexp.analysis.looks import look_of
from antexp.analysis.noise_floor import without_noise
from antexp.analysis.provenance import provenance
from antexp.analysis.result import Judgement
from antexp.analysis.second_opinions.asked import Asked
from antexp.analysis.second_opinions.collect import second_opinions as second_opinions_of
from antexp.analysis.settings import Settings, settle
from antexp.analysis.spreads import drift_seen
from antexp.design.order_document import Order
from antexp.design.order_file import as_order
from antexp.errors import Fault, JudgementError
from antexp.field.bench_book import BenchBook, read_bench_book
from antexp.field.readings import read_readings
from antexp.field.record import Record
from antexp.mixed.unidentified import UnidentifiedError
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan

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
    the_plan = None if plan is None else as_plan(plan)
    the_order = None if order is None else as_order(order)
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
    if table["swap"].nunique() > 1 and is_flat(table):
        flat = flat_judgement(record, settings, reference, provenance(record, plan, settings, order, bench), notices)
        return replace(flat, plan=plan)
    look = look_of(record, plan, order, 1.0 - settings.confidence)
    asked, settings = settings, look.settings(settings) if look is not None else settings
    try:
        found = find(record, reference, settings, look=look, alpha=1.0 - asked.confidence, plan=plan, bench=bench)
    except UnidentifiedError as error:
        raise JudgementError(Fault("the record does not tell its sources of scatter apart", where, str(error),
                                   do="Judge with a simpler drift (--drift steady or none), or hang more.")) from None
    fits = found.fits
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
        candidates=fits.candidates,
        gaps=found.gaps,
        gaps_covariance_db2=found.estimates.covariance_db2,
        gaps_covariance_of=found.estimates.pairs,
        could_be_best=found.best.could_be_best,
        spread=fits.spread(),
        drift=drift_seen(fits.these, settings.drift),
        restricted_log_likelihood=fits.these.restricted_log_likelihood,
        warnings=(
            *notices, *record.notices, *found.notices, *noise_notices,
            *(look.notices(found.gaps) if look is not None else ()),
        ),
        provenance=provenance(record, plan, asked, order, bench),
        day=day_of(table, fits.these),
        budgets=found.budgets,
        second_opinions=second_opinions_of(_asked(found, settings), order) if ask_others else (),
        checks=found.checks,
        look=look,
        specimens=fits.model.model.specimens,
        receivers=found.receivers,
        as_ranges=fits.coarse is not None,
        plan=plan,
    )


def _asked(found: Findings, settings: Settings) -> Asked:
    """Hand the judgement to other methods."""
    fits = found.fits
    wide, narrow = fits.by_scope(list(found.estimates.pairs))
    parts = [(fits.specimens, wide)] if fits.specimens is not None and wide else []
    parts += [(fits.these_or_coarse, narrow)] if narrow else []
    return Asked(tuple(parts), fits.these_or_coarse, found.estimates, settings)


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

