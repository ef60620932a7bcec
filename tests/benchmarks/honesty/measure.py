"""The cells of a design: its judged records counted against the truth.

Nothing is taken from the counting of `antexp.repeats.rehearsal`: what is an alarm, a miss or a wrong verdict is written
here anew, from limits, verdicts and true gaps alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.mixed.verdict import NO_GAP_THAT_MATTERS, REAL_AND_MATTERS, REAL_TOO_SMALL
from tests.benchmarks.honesty.grid import Design
from tests.benchmarks.honesty.records import Records, judge_design

# A limit that is the true gap itself holds: gaps and limits come by different sums.
_ROUNDING_DB = 1e-9


@dataclass(frozen=True)
class Cell:
    """Shares of the records of one design under one truth; NaN where a question has no such share.

    Attributes
    ----------
    records : int
    alarm, alarm_se : float
        At least one `real …` verdict about a gap that is zero, or with the wrong sign; Monte Carlo error.
    wrong, wrong_se : float
        At least one wrong verdict of any kind: an alarm, a gap that does not matter called one that does, a gap that
        matters called one that does not.
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
        By which share all limits could be narrower and still miss in 5 % of the records; below zero: wider. With
        ``best`` the limits of all pairs, which *real* rests on, where they were asked for.
    no_interval : float
        Records with a gap without interval.
    z_gap, z_any : float
        Plain mixed-model fit with ±1.96 standard errors: gaps whose interval misses, records with at least one.
    """

    records: int
    alarm: float
    alarm_se: float
    wrong: float
    wrong_se: float
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


def measure(design: Design, truths: tuple[str, ...], records: int, seed: tuple[int, ...]) -> dict[str, Cell]:
    """Draw, judge and count the records of a design under each of these truths."""
    return {truth: count(design, found) for truth, found in judge_design(design, truths, records, seed).items()}


def count(design: Design, found: Records) -> Cell:
    """Count what the records of a cell came to."""
    judged, truth = found.judged, found.truth_db
    lower, upper = judged.lower_db, judged.upper_db
    finite = np.isfinite(lower) & np.isfinite(upper)
    best = design.plan.question.compare == "best"
    real = np.char.startswith(judged.verdict, "real")
    turned = real & (np.sign(judged.gap_db) * truth < 0)
    alarm = turned | (real & (truth == 0))
    wrong = alarm | wrong_size(judged.verdict, truth, float(design.plan.question.matter_db or 0.0))
    missed = finite & ((truth < lower - _ROUNDING_DB) | (truth > upper + _ROUNDING_DB))
    told = real[:, truth != 0]
    lost = best_lost(found) if best else (np.nan, np.nan, np.nan)
    return Cell(
        len(lower), *share(alarm.any(axis=1)), *share(wrong.any(axis=1)), *share(missed.any(axis=1)),
        float(turned.sum() / told.sum()) if told.any() else np.nan,
        float(told.mean()) if told.size else np.nan, *lost, *chances(design, found),
        width(lower, upper, finite), could_shrink(found, best), float((~finite).any(axis=1).mean()),
        float(found.z_missed.mean()), float(found.z_missed.any(axis=1).mean()),
    )


def wrong_size(verdict: NDArray[np.str_], truth: NDArray[np.float64], matter_db: float) -> NDArray[np.bool_]:
    """Return which verdicts are wrong about whether a gap matters."""
    matters = np.abs(truth) >= matter_db * (1 - 1e-9)  # gaps at matter_db itself matter, whatever their last digit
    small = np.isin(verdict, (NO_GAP_THAT_MATTERS, REAL_TOO_SMALL))
    return (small & matters) | ((verdict == REAL_AND_MATTERS) & ~matters)


def width(lower: NDArray[np.float64], upper: NDArray[np.float64], finite: NDArray[np.bool_]) -> float:
    """Return the median over records of the mean half width."""
    whole = finite.all(axis=1)
    return float(np.median((upper[whole] - lower[whole]).mean(axis=1)) / 2) if whole.any() else np.nan


def could_shrink(found: Records, best: bool) -> float:
    """Return by which share the limits could be narrower and still miss in 5 % of the records."""
    judged = found.pairs if best else found.judged
    if judged is None:
        return np.nan
    truth = 0.0 if best else found.truth_db
    half = (judged.upper_db - judged.lower_db) / 2
    ratio = np.where(np.isfinite(half), np.abs(judged.gap_db - truth) / half, 0.0).max(axis=1)
    return float(1 - np.quantile(ratio, 0.95))


def best_lost(found: Records) -> tuple[float, float, float]:
    """Return how often the true best is lost, its Monte Carlo error, and how often some true best is lost."""
    out = ~(found.judged.upper_db > 0) & np.isfinite(found.judged.upper_db)
    bests = np.flatnonzero(found.level_db == found.level_db.max())
    shares = [share(out[:, place]) for place in bests]
    return (*max(shares), float(out[:, bests].any(axis=1).mean()))


def chances(design: Design, found: Records) -> tuple[float, float, float]:
    """Return the measured chance and the closed form's, for the gap where they differ most."""
    asked = np.flatnonzero(np.isfinite(found.closed_form) & np.isclose(
        np.abs(found.truth_db), float(design.plan.question.matter_db or 0)))
    if design.plan.question.compare == "best":
        asked = asked[found.truth_db[asked] < 0]
    if not asked.size:
        return np.nan, np.nan, np.nan
    right = np.char.startswith(found.judged.verdict, "real") & (found.judged.gap_db * found.truth_db > 0)
    rows = [(*share(right[:, gap]), float(found.closed_form[gap])) for gap in asked]
    return max(rows, key=lambda row: abs(row[0] - row[2]))


def share(event: NDArray[np.bool_]) -> tuple[float, float]:
    """Return the share of records with an event and its Monte Carlo error, that of the days at hand."""
    mean = float(event.mean())
    return mean, float(np.sqrt(max(mean * (1 - mean), 1 / len(event)) / len(event)))
