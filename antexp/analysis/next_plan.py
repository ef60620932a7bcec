"""The next plan from a judged experiment: its wires and trims, the spreads it showed, and what was learnt."""

from __future__ import annotations

import math
import os
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np

from antexp.analysis.hanging_times import SwapMinutes, swap_minutes
from antexp.analysis.judged_folder import JudgedFiles, find_judged
from antexp.analysis.result import Judgement
from antexp.analysis.results_file import read_results
from antexp.analysis.variance_limits import ScatterEstimate, plain_scatter, scatter_behind_means
from antexp.decibels import rounded_up_db
from antexp.design.order_file import read_order
from antexp.errors import Fault, InputError, JudgementError
from antexp.field.bench_book import BenchBook, read_bench_book
from antexp.field.reading_faults import counted
from antexp.field.readings import read_readings
from antexp.files import read_raw
from antexp.plan.cautions import cautions
from antexp.plan.model import Plan
from antexp.plan.reader import read_plan
from antexp.plan.writer import plan_text

_CONFIDENCE = 0.95
_SEEDS = 2**63


@dataclass(frozen=True)
class NextPlan:
    """A plan to begin the next event with.

    Attributes
    ----------
    text : str
        The plan file's text.
    bench_book : bytes or None
        The bench book as it stood, to be kept beside the plan.
    carried : tuple of str
        What was carried over, in words.
    """

    text: str
    bench_book: bytes | None
    carried: tuple[str, ...]


def next_plan(folder: str | os.PathLike[str], *, plan: str | os.PathLike[str] | None = None) -> NextPlan:
    """Write the next plan from a judged experiment.

    Parameters
    ----------
    folder : path-like
        The folder that ``judge -o`` wrote to, with the plan, and where they are to be used the readings, the order
        and the bench book.
    plan : path-like, optional
        The plan, where it stands elsewhere.

    Returns
    -------
    NextPlan
        Spreads stand as the day showed them, with their degrees of freedom and limits beside them.

    Raises
    ------
    FileError, JudgementError, PlanError
        When results or plan are missing or at fault.
    """
    judgement = read_results(folder)
    files = find_judged(folder, plan=plan)
    if files.plan is None:
        raise JudgementError(Fault("the plan that was judged is neither in the folder nor above it", str(files.folder),
                                   do="Put it there, or name it with --plan."))
    before = read_plan(files.plan)
    book = None if files.bench is None else read_bench_book(files.bench, before)
    minutes = _minutes(files, before)
    changes = {**_spreads(judgement), **_drift(judgement), **_swap_minutes(minutes, before)}
    changes["field.seed"] = ((before.field.seed + 1) % _SEEDS, "one more than last time: a fresh draw of the order")
    if before.field.sittings and any(sitting.day for sitting in before.field.sittings):
        changes["field.sittings"] = (before.field.sittings, "the dates of last time: put the new ones in")
    after = _changed(before, {key: value for key, (value, _) in changes.items()})
    remarks = {key: remark for key, (_, remark) in changes.items()}
    text = plan_text(after, head=_head(judgement, before), remarks=remarks,
                     candidate_remarks=_candidate_remarks(judgement, book))
    carried = [f"{len(before.candidates)} candidates", *(f"{key} = {_short(value)} ({remark})"
                                                         for key, (value, remark) in changes.items())]
    if book is not None:
        carried.append(counted(len(book.table), "bench measurement"))
    carried.append(f"{counted(len(judgement.warnings), 'warning')} of last time as remarks")
    return NextPlan(text, None if files.bench is None else read_raw(files.bench, "bench book"), tuple(carried))


def seen_spreads(judgement: Judgement) -> dict[str, ScatterEstimate]:
    """Return the scatters a day showed, with degrees of freedom and limits.

    Returns
    -------
    dict of str to ScatterEstimate
        By plan key, ``field.rehang_sd_db`` and ``meter.reading_sd_db``, as far as they were seen. The mean square of
        the swaps has the smallest degrees of freedom of the judged gaps, that of the readings one for each reading
        beyond a swap's first.
    """
    spread, found = judgement.spread, {}
    rows = judgement.gaps[judgement.gaps["scope"] == "these specimens"]
    freedom = (rows if len(rows) else judgement.family)["degrees_of_freedom"].astype(float).min()
    left = float(judgement.readings - judgement.swaps)
    within = None if spread.reading_sd_db is None or left < 1 else spread.reading_sd_db**2
    if within is not None and within > 0:
        found["meter.reading_sd_db"] = plain_scatter(within, left, _CONFIDENCE)
    if spread.rehang_sd_db is None or not freedom >= 1:
        return found
    if within is None:
        if spread.rehang_sd_db > 0:
            found["field.rehang_sd_db"] = plain_scatter(spread.rehang_sd_db**2, freedom, _CONFIDENCE)
        return found
    readings = judgement.readings / judgement.swaps
    of_means = spread.rehang_sd_db**2 + within / readings
    if of_means > 0:
        found["field.rehang_sd_db"] = scatter_behind_means(of_means, freedom, within, left, readings, _CONFIDENCE)
    return found


Change = dict[str, tuple[Any, str]]
"""New value and remark by plan key."""


def _spreads(judgement: Judgement) -> Change:
    """Return the spreads to plan with; one that could not be seen stands at its upper limit."""
    changes: Change = {}
    for key, seen in seen_spreads(judgement).items():
        value = seen.sd_db if seen.sd_db > 0 else seen.high_db
        hidden = "" if seen.sd_db > 0 else "could not be seen, so the upper limit stands here; "
        limits = f"between {seen.low_db:.2f} and {rounded_up_db(seen.high_db):.2f} at {100 * seen.confidence:g} %"
        freedom = f"{seen.degrees_of_freedom:.0f} degrees of freedom"
        changes[key] = (rounded_up_db(value), f"{hidden}seen: {seen.sd_db:.2f}, {limits}, {freedom}")
    specimen = judgement.spread.specimen_sd_db
    if specimen is not None and specimen > 0:
        changes["field.specimen_sd_db"] = (rounded_up_db(specimen), "seen between specimens of one candidate")
    return changes


def _drift(judgement: Judgement) -> Change:
    """Return the drift to plan with: the root mean square of the slopes of at least two blocks."""
    slopes = np.array(list(judgement.drift.db_per_hour.values()), float)
    if len(slopes) < 2:
        return {}
    return {"field.drift_db_per_hour": (rounded_up_db(float(np.sqrt(np.mean(slopes**2)))), f"seen: root mean square of "
                                        f"{len(slopes)} blocks, the steepest {np.abs(slopes).max():.2f}")}


def _minutes(files: JudgedFiles, plan: Plan) -> SwapMinutes:
    """Return how long swaps took; nothing without the readings."""
    if files.readings is None:
        return SwapMinutes(None, 0, {})
    for order in (*files.orders, None):
        with suppress(InputError):  # an order of another day, or none where the readings name no wires
            return swap_minutes(read_readings(files.readings, plan, None if order is None else read_order(order)))
    return SwapMinutes(None, 0, {})


def _swap_minutes(minutes: SwapMinutes, plan: Plan) -> Change:
    """Return the minutes a swap took."""
    if minutes.median is None or minutes.median > 600:
        return {}
    value = math.ceil(round(10 * minutes.median, 6)) / 10
    return {"field.minutes_per_swap": (value, f"seen: median of {minutes.timed} swaps; planned were "
                                       f"{plan.field.minutes_per_swap:g}")}


def _changed(plan: Plan, values: dict[str, Any]) -> Plan:
    """Return the plan with new values, which count as given."""
    tables: dict[str, dict[str, Any]] = {}
    for key, value in values.items():
        table, name = key.split(".")
        tables.setdefault(table, {})[name] = value
    update: dict[str, Any] = {table: getattr(plan, table).model_copy(update=new) for table, new in tables.items()}
    return plan.model_copy(update={**update, "stated": plan.stated | set(values)})


def _head(judgement: Judgement, plan: Plan) -> list[str]:
    """Return the remarks above the plan: where it comes from, the warnings of last time, and the cautions."""
    lines = [
        f"The next plan after “{judgement.title}”. Numbers marked “seen” are those of that day; edit what will differ.",
        f"Last time: {judgement.swaps} swaps in {judgement.blocks} blocks; no gap under "
        f"{judgement.resolution_db:.2f} dB could be called real.",
    ]
    lines += [f"Last time ({notice.code}): {notice.text}" for notice in judgement.warnings]
    return [*lines, "", "Before anything goes up:", *(f" - {caution.text}" for caution in cautions(plan))]


def _candidate_remarks(judgement: Judgement, book: BenchBook | None) -> dict[str, list[str]]:
    """Return what is to be remembered of each candidate: its gap and its trim."""
    remarks: dict[str, list[str]] = {name: [] for name in judgement.candidates}
    for row in judgement.family.to_dict(orient="records"):
        low, high = row["interval_db"]
        if judgement.compare != "each-other":
            remarks[row["candidate"]].append(f"last time: {row['gap_db']:+.2f} dB against {row['against']}, between "
                                             f"{low:+.2f} and {high:+.2f}: {row['verdict']}")
    if book is None:
        return remarks
    for (name, specimen), rows in book.table.groupby(["candidate", "specimen"], sort=False):
        trimmed = rows.dropna(subset=["leg_m", "resonance_mhz"])
        if len(trimmed):
            last = trimmed.iloc[-1]
            remarks.setdefault(str(name), []).append(
                f"trim of specimen {specimen}: leg {last['leg_m']:g} m, resonant at {last['resonance_mhz']:g} MHz "
                f"(bench book, line {last['line']})")
    return remarks


def _short(value: Any) -> str:
    """Write a value for the list of what was carried."""
    return f"{value:g}" if isinstance(value, float) else str(value) if isinstance(value, int) else "as last time"
