"""One cell of the grid: records drawn, judged by the batched judge and by plain z, and counted against the truth.

Nothing is taken from the counting of `antexp.repeats.rehearsal`: what is an alarm, a miss or a wrong sign is written
here anew, from limits, verdicts and true gaps alone.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from scipy import stats

from antexp.design.estimable import is_full_rank
from antexp.mixed.many_responses import many_responses
from antexp.repeats.draws import draw_records
from antexp.repeats.judged_records import Judged, Question, judge_records
from antexp.repeats.layout import layout_of
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.rehearsal_chunk import readings_frame
from antexp.repeats.scoped_model import ANY, ScopedModels, scoped_models
from antexp.repeats.what_if import Days
from antexp.repeats.world import world_of
from tests.benchmarks.honesty.grid import Design

PATTERNS = {"nothing": 1, "swaps": 50, "readings": 5}
"""Draws of what is lost; each is a design of its own and judges an equal share of the records."""

PATTERNS_OF_SPECIMENS = 5

Z = float(stats.norm.ppf(0.975))


@dataclass(frozen=True)
class Cell:
    """Shares of the records of one design under one truth; NaN where a question has no such share.

    Attributes
    ----------
    records : int
    alarm, alarm_se : float
        At least one `real …` verdict about a gap that is zero, or with the wrong sign; Monte Carlo error.
    missed, missed_se : float
        At least one interval misses its true gap.
    wrong_sign : float
        Of the `real …` verdicts about gaps that are not zero, those with the wrong sign.
    real : float
        Of the gaps that are not zero, those called real.
    best_lost, best_lost_se : float
        With ``best``: the true best is not among those that could be the best; of several, the one lost most often.
    some_best_lost : float
        With ``best``: at least one of the true bests is not among them.
    noticed, noticed_se, closed_form : float
        Share that notices a gap of `matter_db`, and the closed form's chance of it, for the gap where they differ most.
    half_width_db : float
        Median over records of the mean half width.
    could_shrink : float
        By which share all limits could be narrower and still miss in 5 % of the records; below zero: wider.
    no_interval : float
        Records with a gap without interval.
    z_gap, z_any : float
        Plain mixed-model fit with ±1.96 standard errors: gaps whose interval misses, records with at least one.
    """

    records: int
    alarm: float
    alarm_se: float
    missed: float
    missed_se: float
    wrong_sign: float
    real: float
    best_lost: float
    best_lost_se: float
    some_best_lost: float
    noticed: float
    noticed_se: float
    closed_form: float
    half_width_db: float
    could_shrink: float
    no_interval: float
    z_gap: float
    z_any: float


@dataclass(frozen=True)
class Records:
    """Judged records of one cell, pattern after pattern.

    Attributes
    ----------
    judged : Judged
    z_missed : ndarray of bool, shape (N, g)
        Which true gap the plain interval misses.
    truth_db : ndarray, shape (m,)
        Of each row of the judgement.
    level_db : ndarray, shape (k,)
        True level of each candidate, the reference first.
    closed_form : ndarray, shape (m,)
        Chance of noticing each gap at `matter_db`, mean over the patterns; NaN where it is not asked.
    """

    judged: Judged
    z_missed: np.ndarray
    truth_db: np.ndarray
    level_db: np.ndarray
    closed_form: np.ndarray


def measure(design: Design, truth: str, records: int, seed: tuple[int, ...]) -> Cell:
    """Draw, judge and count the records of one cell."""
    return count(design, judge_cell(design, truth, records, seed))


def judge_cell(design: Design, truth: str, records: int, seed: tuple[int, ...]) -> Records:
    """Draw and judge the records of one cell.

    A draw of losses after which a gap cannot be estimated, or no swap is left over, is drawn again: `judge` refuses
    such a record.
    """
    plan, random = design.plan, np.random.default_rng(seed)
    gaps = design.gaps_db(truth)
    world = world_of(plan, gaps)
    layout = layout_of(design.table, plan.field.minutes_per_swap, world.break_minutes)
    frame = readings_frame(layout, world)
    whole = scoped_models(frame, plan.reference, plan.field.drift, plan.question.compare)
    if all(scope.scope != ANY for scope in whole.scopes):
        world = replace(world, centre_specimens=True)  # the gaps are those of these very specimens
    asked = Question(plan.question.compare, plan.question.matter_db, plan.question.confidence, world.step_db)
    level = np.array([gaps.get(name, 0.0) for name in whole.candidates])
    patterns = patterns_of(design)
    parts, missed, closed = [], [], []
    for _ in range(patterns):
        kept, models = (np.ones(len(frame), bool), whole) if patterns == 1 else lose(design, frame, whole, random)
        Y = draw_records(layout, world, random, records // patterns).level_db.reshape(len(frame), -1)[kept]
        parts.append(judge_records(models, Y, asked))
        missed.append(plain_misses(models, Y, dict(zip(models.candidates, level, strict=True))))
        if truth == "gaps that matter" and design.lost != "readings":
            closed.append(closed_form(design, set(frame["swap"][kept]), whole))
    joined = [np.concatenate([getattr(part, name) for part in parts])
              for name in ("gap_db", "lower_db", "upper_db", "verdict")]
    truths = true_gaps(whole, level, asked.compare)
    return Records(Judged(*joined), np.concatenate(missed), truths, level,
                   np.mean(closed, axis=0) if closed else np.full(len(truths), np.nan))


def patterns_of(design: Design) -> int:
    """Return how many draws of losses a cell has; fewer where correlations differ from record to record."""
    several = any(candidate.specimens > 1 for candidate in design.plan.candidates)
    return PATTERNS_OF_SPECIMENS if several and design.lost != "nothing" else PATTERNS[design.lost]


def lose(design: Design, frame, whole: ScopedModels, random: np.random.Generator) -> tuple[np.ndarray, ScopedModels]:
    """Lose swaps or readings at random; a swap keeps at least one of its readings where readings are lost."""
    swap = frame["swap"].to_numpy()
    while True:
        if design.lost == "swaps":
            done = np.flatnonzero(random.random(len(np.unique(swap))) >= design.share)
            kept = np.isin(swap, np.unique(swap)[done])
        else:
            kept = random.random(len(swap)) >= design.share
            kept |= ~np.isin(swap, swap[kept]) & ~frame.duplicated("swap").to_numpy()
        rows = frame[kept]
        if set(rows["candidate"]) != set(whole.candidates):
            continue
        models = scoped_models(rows, design.plan.reference, design.plan.field.drift, design.plan.question.compare)
        same = models.candidates == whole.candidates and models.pairs == whole.pairs
        enough = all(is_full_rank(scope.model) and rows["swap"].nunique() > scope.model.X.shape[1]
                     for scope in (*models.scopes, models.these))
        if same and enough:
            return kept, models


def plain_misses(models: ScopedModels, Y: np.ndarray, level: dict[str, float]) -> np.ndarray:
    """Return which true gaps a plain mixed-model fit misses by ±1.96 standard errors, shape (N, gaps)."""
    found = []
    for scope in models.scopes:
        fits = many_responses(Y, scope.model.X, scope.groups, scope.L, scope.at_zero)
        truth = np.array([level[candidate] - level[against] for candidate, against in scope.pairs])
        found.append(np.abs(fits.estimates - truth) > Z * fits.plain_standard_errors)
    return np.hstack(found)


def true_gaps(models: ScopedModels, level: np.ndarray, compare: str) -> np.ndarray:
    """Return the true gap of each row of the judgement."""
    if compare == "best":
        return np.array([level[i] - np.delete(level, i).max() for i in range(len(level))])
    of = dict(zip(models.candidates, level, strict=True))
    return np.array([of[candidate] - of[against] for candidate, against in models.pairs])


def closed_form(design: Design, swaps: set[int], models: ScopedModels) -> np.ndarray:
    """Return the closed form's chance of each row when these swaps were done."""
    table = design.table[design.table["swap"].isin(swaps)]
    days = Days(design.plan)
    gaps = days.chances(days.modelled(table), spreads_of(design.plan)).gaps
    chance = dict(zip(zip(gaps["candidate"], gaps["against"], strict=True), gaps["chance"], strict=True))
    if design.plan.question.compare == "best":
        best = design.plan.others[-1]
        return np.array([chance.get((name, best), np.nan) for name in models.candidates])
    return np.array([chance[pair] for pair in models.pairs])


def count(design: Design, found: Records) -> Cell:
    """Count what the records of a cell came to."""
    judged, truth = found.judged, found.truth_db
    lower, upper = judged.lower_db, judged.upper_db
    finite = np.isfinite(lower) & np.isfinite(upper)
    real = np.char.startswith(judged.verdict, "real")
    best = design.plan.question.compare == "best"
    # with `best` a real verdict says: below another; else the sign is that of the estimate
    sign = np.where(best, -1.0, np.sign(judged.gap_db))
    wrong = real & (sign * truth < 0)
    false = wrong | (real & (truth == 0))
    missed = finite & ((truth < lower) | (truth > upper))
    told = real[:, truth != 0]
    half = (upper - lower) / 2
    ratio = np.where(finite, np.abs(judged.gap_db - truth) / half, 0.0).max(axis=1)
    several = found.z_missed.any(axis=1)
    lost = best_lost(found) if best else (np.nan, np.nan, np.nan)
    with np.errstate(invalid="ignore"):
        widths = np.nanmean(np.where(finite, half, np.nan), axis=1) if finite.any() else np.full(1, np.nan)
    return Cell(
        len(lower), *share(false.any(axis=1)), *share(missed.any(axis=1)),
        float(wrong.sum() / told.sum()) if told.any() else np.nan,
        float(told.mean()) if told.size else np.nan, *lost, *chances(design, found, finite),
        float(np.nanmedian(widths)), np.nan if best else float(1 - np.quantile(ratio, 0.95)),
        float((~finite).any(axis=1).mean()), float(found.z_missed.mean()), float(several.mean()),
    )


def best_lost(found: Records) -> tuple[float, float, float]:
    """Return how often the true best is lost, its Monte Carlo error, and how often some true best is lost."""
    out = ~(found.judged.upper_db > 0) & np.isfinite(found.judged.upper_db)
    bests = np.flatnonzero(found.level_db == found.level_db.max())
    shares = [share(out[:, place]) for place in bests]
    return (*max(shares), float(out[:, bests].any(axis=1).mean()))


def chances(design: Design, found: Records, finite: np.ndarray) -> tuple[float, float, float]:
    """Return the measured chance and the closed form's, for the gap where they differ most."""
    asked = np.flatnonzero(np.isfinite(found.closed_form) & np.isclose(
        np.abs(found.truth_db), float(design.plan.question.matter_db or 0)))
    if design.plan.question.compare == "best":
        asked = asked[found.truth_db[asked] < 0]
    if not asked.size:
        return np.nan, np.nan, np.nan
    lower, upper = found.judged.lower_db, found.judged.upper_db
    # with `best` the upper limit of a candidate that cannot be the best is 0 itself
    below = upper <= 0 if design.plan.question.compare == "best" else upper < 0
    right = finite & np.where(found.truth_db > 0, lower > 0, below)
    rows = [(*share(right[:, gap]), float(found.closed_form[gap])) for gap in asked]
    return max(rows, key=lambda row: abs(row[0] - row[2]))


def share(event: np.ndarray) -> tuple[float, float]:
    """Return the share of records with an event and its Monte Carlo error, that of the days at hand."""
    mean = float(event.mean())
    return mean, float(np.sqrt(max(mean * (1 - mean), 1 / len(event)) / len(event)))
