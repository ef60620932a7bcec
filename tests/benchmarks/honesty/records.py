"""Records of one design under each truth, judged by the batched judge and by a plain mixed-model fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
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
from tests.benchmarks.honesty.grid import EQUAL, MATTER, Design

Floats = NDArray[np.float64]

PARTS = {"nothing": 4, "second references": 4, "swaps": 25, "readings": 4}
"""Equal shares of a cell's records; where something is lost each has a loss of its own, and is a design of its own."""

Z = float(stats.norm.ppf(0.975))


@dataclass(frozen=True)
class Records:
    """Judged records of one cell, part after part.

    Attributes
    ----------
    judged : Judged
    z_missed : ndarray of bool, shape (N, g)
        Which true gap the plain interval misses.
    pairs : Judged or None
        With ``best``, nothing lost and no true gap: the same records judged for all pairs, whose limits the word
        *real* rests on.
    truth_db : ndarray, shape (m,)
        Of each row of the judgement.
    level_db : ndarray, shape (k,)
        True level of each candidate, the reference first.
    closed_form : ndarray, shape (m,)
        Chance of noticing each gap at `matter_db`, mean over the losses; NaN where it is not asked.
    """

    judged: Judged
    z_missed: NDArray[np.bool_]
    pairs: Judged | None
    truth_db: Floats
    level_db: Floats
    closed_form: Floats


def judge_design(design: Design, truths: tuple[str, ...], records: int, seed: tuple[int, ...]) -> dict[str, Records]:
    """Draw and judge the records of a design under each of these truths.

    A draw of losses after which a gap cannot be estimated, or no swap is left over, is drawn again: `judge` refuses
    such a record. So is one that takes a wire's second specimen: the gaps are those of these specimens then, another
    truth. The truths share the losses, not the records; they are judged in one go because the critical values
    of a loss are searched once for all its records.
    """
    plan, random = design.plan, np.random.default_rng(seed)
    worlds = {truth: world_of(plan, design.gaps_db(truth)) for truth in truths}
    world = worlds[truths[0]]
    layout = layout_of(design.table, plan.field.minutes_per_swap, world.break_minutes)
    frame = readings_frame(layout, world)
    whole = scoped_models(frame, plan.reference, plan.field.drift, plan.question.compare)
    if all(scope.scope != ANY for scope in whole.scopes):  # the gaps are those of these very specimens
        worlds = {truth: replace(other, centre_specimens=True) for truth, other in worlds.items()}
    asked = Question(plan.question.compare, plan.question.matter_db, plan.question.confidence, world.step_db)
    levels = {truth: np.array([design.gaps_db(truth).get(name, 0.0) for name in whole.candidates]) for truth in truths}
    found: dict[str, list[tuple[Judged, NDArray[np.bool_], Judged | None]]] = {truth: [] for truth in truths}
    closed, parts = [], PARTS[design.lost]
    for _ in range(parts):
        kept, models = lose(design, frame, whole, random)
        each = {truth: draw_records(layout, worlds[truth], random, records // parts).level_db.reshape(len(frame), -1)
                for truth in truths}
        judged = judge_records(models, np.hstack(list(each.values()))[kept], asked)
        for place, (truth, Y) in enumerate(each.items()):
            own = slice(place * Y.shape[1], (place + 1) * Y.shape[1])
            found[truth].append((taken(judged, own), plain_misses(models, Y[kept], levels[truth]),
                                 all_pairs(design, truth, models, Y[kept], asked)))
        if MATTER in truths and design.lost != "readings":
            closed.append(closed_form(design, set(frame["swap"][kept]), whole))
    chance = np.mean(closed, axis=0) if closed else None
    return {truth: records_of(found[truth], true_gaps(whole, levels[truth], asked.compare), levels[truth],
                              chance if truth == MATTER else None) for truth in truths}


def records_of(
    parts: list[tuple[Judged, NDArray[np.bool_], Judged | None]], truth_db: Floats, level_db: Floats,
    chance: Floats | None,
) -> Records:
    """Put the parts of a cell together."""
    judged, missed, pairs = zip(*parts, strict=True)
    return Records(joined(judged), np.concatenate(missed), None if pairs[0] is None else joined(pairs), truth_db,
                   level_db, np.full(len(truth_db), np.nan) if chance is None else chance)


def taken(judged: Judged, some: slice) -> Judged:
    """Return some of the records."""
    return Judged(judged.gap_db[some], judged.lower_db[some], judged.upper_db[some], judged.verdict[some])


def joined(parts: Sequence[Judged]) -> Judged:
    """Put records one after the other."""
    return Judged(*(np.concatenate([getattr(part, name) for part in parts])
                    for name in ("gap_db", "lower_db", "upper_db", "verdict")))


def lose(
    design: Design, frame: pd.DataFrame, whole: ScopedModels, random: np.random.Generator
) -> tuple[NDArray[np.bool_], ScopedModels]:
    """Lose swaps or readings at random; a swap keeps at least one of its readings where readings are lost."""
    if design.lost in ("nothing", "second references"):
        return np.ones(len(frame), bool), whole
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
        same = models.candidates == whole.candidates and scoped_pairs(models) == scoped_pairs(whole)
        enough = all(is_full_rank(scope.model) and rows["swap"].nunique() > scope.model.X.shape[1]
                     for scope in (*models.scopes, models.these))
        if same and enough:
            return kept, models


def scoped_pairs(models: ScopedModels) -> list[tuple[str, tuple[tuple[str, str], ...]]]:
    """Return which gaps speak of what."""
    return [(scope.scope, tuple(scope.pairs)) for scope in models.scopes]


def plain_misses(models: ScopedModels, Y: Floats, level: Floats) -> NDArray[np.bool_]:
    """Return which true gaps a plain mixed-model fit misses by ±1.96 standard errors, shape (N, gaps).

    A REML fit with variances bounded at zero and the errors √(lᵀΦl) of its estimates, as common packages print them.
    """
    of = dict(zip(models.candidates, level, strict=True))
    found = []
    for scope in models.scopes:
        fits = many_responses(Y, scope.model.X, scope.groups, scope.L, scope.at_zero)
        truth = np.array([of[candidate] - of[against] for candidate, against in scope.pairs])
        found.append(np.abs(fits.estimates - truth) > Z * fits.plain_standard_errors)
    return np.hstack(found)


def all_pairs(design: Design, truth: str, models: ScopedModels, Y: Floats, asked: Question) -> Judged | None:
    """Judge records of equal candidates for all pairs, where the best is asked for and nothing is lost."""
    if asked.compare != "best" or truth != EQUAL or design.lost != "nothing":
        return None
    return judge_records(models, Y, replace(asked, compare="each-other"))


def true_gaps(models: ScopedModels, level: Floats, compare: str) -> Floats:
    """Return the true gap of each row of the judgement."""
    if compare == "best":
        return np.array([level[i] - np.delete(level, i).max() for i in range(len(level))])
    of = dict(zip(models.candidates, level, strict=True))
    return np.array([of[candidate] - of[against] for candidate, against in models.pairs])


def closed_form(design: Design, swaps: set[int], models: ScopedModels) -> Floats:
    """Return the closed form's chance of each row when these swaps were done."""
    table = design.table[design.table["swap"].isin(swaps)]
    days = Days(design.plan)
    gaps = days.chances(days.modelled(table), spreads_of(design.plan)).gaps
    chance = dict(zip(zip(gaps["candidate"], gaps["against"], strict=True), gaps["chance"], strict=True))
    if design.plan.question.compare == "best":
        best = design.plan.others[-1]
        return np.array([chance.get((name, best), np.nan) for name in models.candidates])
    return np.array([chance[pair] for pair in models.pairs])
