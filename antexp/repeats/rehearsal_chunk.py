"""One chunk of a rehearsal: drawn, judged and counted on its own, so that chunks may run anywhere in any order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.estimable import is_full_rank, untied_sets
from antexp.mixed.verdict import CANNOT_TELL, REAL, VERDICTS, classify
from antexp.repeats.coarse_records import is_coarse
from antexp.repeats.draws import Drawn, draw_records, reading_minutes
from antexp.repeats.judged_records import Judged, Question, judge_records
from antexp.repeats.layout import Layout
from antexp.repeats.scoped_model import ScopedModels, scoped_models
from antexp.repeats.specimen_gaps import specimen_gaps, specimen_means
from antexp.repeats.world import World

Floats = NDArray[np.float64]

# Readings of a chunk together: 16 MB of levels, so that memory stays flat whatever the number of records.
_READINGS_PER_CHUNK = 2_000_000
_MOST_RECORDS = 10_000
# Records that share their missing swaps: each pattern of missing swaps is a design of its own.
RECORDS_PER_PATTERN = 50


@dataclass(frozen=True)
class RehearsalSetup:
    """What every chunk of a rehearsal shares: what is drawn, and how it is judged.

    Attributes
    ----------
    layout : Layout
    world : World
    models : ScopedModels
        Of the whole layout's readings.
    pairs : tuple of (str, str), length m
        The rows of the answer: (candidate, against).
    truth_db : ndarray, shape (m,), dB
        The true gap of each.
    reference, drift : str
    asked : Question
    seed : int
    """

    layout: Layout
    world: World
    models: ScopedModels
    pairs: tuple[tuple[str, str], ...]
    truth_db: Floats
    reference: str
    drift: str
    asked: Question
    seed: int

    @property
    def chunk_size(self) -> int:
        """Records of a chunk: it depends on the layout alone, so that any number of workers draws the same."""
        readings = len(self.layout) * self.world.readings
        size = int(np.clip(_READINGS_PER_CHUNK // readings, RECORDS_PER_PATTERN, _MOST_RECORDS))
        return size - size % RECORDS_PER_PATTERN


@dataclass(frozen=True)
class Counts:
    """What a chunk's records came to.

    Attributes
    ----------
    records : int
    sums : ndarray, shape (m, e)
        How many records had each event, in the order of `EVENTS`.
    squares : ndarray, shape (m, e)
        Sum over clusters of records (alone, or sharing missing swaps) of the square of their count.
    joint_sums, joint_squares : ndarray, shape (2,)
        The same for "all gaps noticed" and "some interval misses the truth".
    clusters : int
    half_width_db : ndarray, shape (m,), dB
        Sum of half widths over the records with an interval.
    """

    records: int
    sums: Floats
    squares: Floats
    joint_sums: Floats
    joint_squares: Floats
    clusters: int
    half_width_db: Floats

    def plus(self, other: Counts) -> Counts:
        """Add the counts of another chunk."""
        return Counts(
            self.records + other.records, self.sums + other.sums, self.squares + other.squares,
            self.joint_sums + other.joint_sums, self.joint_squares + other.joint_squares,
            self.clusters + other.clusters, self.half_width_db + other.half_width_db,
        )


BEST_OF_OTHERS = "the best of the others"

NOTICED, WRONG, COVERED, NO_INTERVAL = "noticed", "wrong way", "covered", "no interval"
EVENTS = (*VERDICTS, NOTICED, WRONG, COVERED, NO_INTERVAL)


def count_chunk(shared: RehearsalSetup, index: int, records: int) -> Counts:
    """Draw, judge and count one chunk.

    Parameters
    ----------
    shared : RehearsalSetup
    index : int
        Number of the chunk; with the seed it fixes everything that is drawn.
    records : int
        How many of the chunk's records are wanted: the first ones.
    """
    chunk = judge_chunk(shared, index, records)
    judged, clusters = chunk.as_asked(shared), chunk.clusters
    events = _events(judged, shared)
    starts = np.flatnonzero(np.r_[True, clusters[1:] != clusters[:-1]])
    by_cluster = np.add.reduceat(events, starts, axis=0)
    noticed, covered = events[:, :, EVENTS.index(NOTICED)], events[:, :, EVENTS.index(COVERED)]
    joint = np.column_stack([noticed.all(axis=1), ~covered.astype(bool).all(axis=1)]).astype(float)
    joint_by_cluster = np.add.reduceat(joint, starts, axis=0)
    half = np.nan_to_num((judged.upper_db - judged.lower_db) / 2.0).sum(axis=0)
    return Counts(records, events.sum(axis=0), (by_cluster**2).sum(axis=0), joint.sum(axis=0),
                  (joint_by_cluster**2).sum(axis=0), len(starts), half)


@dataclass(frozen=True)
class Chunk:
    """Records of a chunk as they were judged.

    Attributes
    ----------
    judged : Judged
    clusters : ndarray of int, shape (records,)
        Records with one number share their missing swaps.
    specimens_db : ndarray, shape (records, m), dB
        How far each gap lies from the one asked for because of the specimens that happened to hang.
    """

    judged: Judged
    clusters: NDArray[np.intp]
    specimens_db: Floats

    def as_asked(self, shared: RehearsalSetup) -> Judged:
        """Return the records as if the gaps of their specimens were those asked for.

        The fit moves with its readings: a wire that is stronger by some dB has limits that lie higher by so much.
        """
        if not self.specimens_db.any():
            return self.judged
        gap_db, lower_db, upper_db = (values - self.specimens_db for values in
                                      (self.judged.gap_db, self.judged.lower_db, self.judged.upper_db))
        return Judged(gap_db, lower_db, upper_db, classify(lower_db, upper_db, shared.asked.matter_db))


def judge_chunk(shared: RehearsalSetup, index: int, records: int) -> Chunk:
    """Draw and judge the first records of a chunk."""
    drawn, done = draw_chunk(shared, index)
    level = drawn.level_db[:, :, :records].reshape(-1, records)
    if done is None:
        whole = np.full(len(shared.layout), True)
        return Chunk(_judge(shared, shared.models, level), np.arange(records),
                     _apart(shared, shared.models, whole, level, drawn.specimen_db[:, :records]))
    parts, apart = [], []
    clusters = np.arange(records) // RECORDS_PER_PATTERN
    for pattern in range(clusters[-1] + 1):
        kept = done[:, pattern]
        own = np.flatnonzero(clusters == pattern)
        models = _models_of(shared, kept)
        some = level[np.repeat(kept, shared.world.readings)][:, own]
        parts.append(_none(shared, len(own)) if models is None else _judge(shared, models, some))
        apart.append(_apart(shared, models, kept, some, drawn.specimen_db[:, own]))
    together = [np.concatenate([getattr(part, name) for part in parts])
                for name in ("gap_db", "lower_db", "upper_db", "verdict")]
    return Chunk(Judged(*together), clusters, np.concatenate(apart))


def _apart(
    shared: RehearsalSetup, models: ScopedModels | None, done: NDArray[np.bool_], level: Floats, specimen_db: Floats
) -> Floats:
    """Return how far each gap lies from the one asked for; against the best of the others this is not followed."""
    if models is None or shared.asked.compare == "best" or not specimen_db.any():
        return np.zeros((level.shape[1], len(shared.pairs)))
    names = tuple(shared.world.gaps_db)
    means = specimen_means(shared.layout, done, specimen_db, names)
    return specimen_gaps(models, is_coarse(models, level, shared.asked.step_db), means, names, shared.pairs)


def draw_chunk(shared: RehearsalSetup, index: int) -> tuple[Drawn, NDArray[np.bool_] | None]:
    """Draw a whole chunk, and which swaps were done in each pattern, shape (n_swaps, patterns); None: all."""
    random = np.random.default_rng(np.random.SeedSequence(shared.seed, spawn_key=(index,)))
    drawn = draw_records(shared.layout, shared.world, random, shared.chunk_size)
    if shared.world.missing_share == 0.0:
        return drawn, None
    patterns = shared.chunk_size // RECORDS_PER_PATTERN
    return drawn, random.random((len(shared.layout), patterns)) >= shared.world.missing_share


def readings_frame(layout: Layout, world: World) -> pd.DataFrame:
    """Return the labels and times of every reading, one row each."""
    each = np.repeat(np.arange(len(layout)), world.readings)
    return pd.DataFrame({
        "swap": layout.swap[each], "block": layout.block[each], "minutes": reading_minutes(layout, world).ravel(),
        "candidate": layout.candidate[each], "specimen": layout.specimen[each], "place": layout.place[each],
    })


def _judge(shared: RehearsalSetup, models: ScopedModels, level: Floats) -> Judged:
    """Judge records, and put the gaps in the order of the answer; a candidate that never hung cannot be told."""
    judged = judge_records(models, level, shared.asked)
    found = row_pairs(models, shared.asked.compare)
    if found == shared.pairs:
        return judged
    place = [found.index(pair) if pair in found else -1 for pair in shared.pairs]
    missing = np.array(place) < 0
    gap_db, lower_db, upper_db = (np.where(missing, np.nan, values[:, place])
                                  for values in (judged.gap_db, judged.lower_db, judged.upper_db))
    return Judged(gap_db, lower_db, upper_db, np.where(missing, CANNOT_TELL, judged.verdict[:, place]))


def row_pairs(models: ScopedModels, compare: str) -> tuple[tuple[str, str], ...]:
    """Return the (candidate, against) of the rows that `judge_records` gives."""
    if compare == "best":
        return tuple((name, BEST_OF_OTHERS) for name in models.candidates)
    return models.pairs


def _models_of(shared: RehearsalSetup, kept: NDArray[np.bool_]) -> ScopedModels | None:
    """Return the models of what was done; None where the judgement would refuse it."""
    layout = shared.layout.keep(kept)
    names = set(layout.candidate)
    if shared.reference not in names or len(names) < 2 or len(layout) == len(names):
        return None
    if untied_sets(list(layout.candidate), list(layout.block)) is not None:
        return None
    models = scoped_models(readings_frame(layout, shared.world), shared.reference, shared.drift, shared.asked.compare)
    these = models.these.model
    return models if is_full_rank(these) and len(layout) > these.X.shape[1] else None


def _none(shared: RehearsalSetup, records: int) -> Judged:
    """Return records that cannot be judged."""
    nothing = np.full((records, len(shared.pairs)), np.nan)
    return Judged(nothing, nothing, nothing, np.full(nothing.shape, CANNOT_TELL))


def _events(judged: Judged, shared: RehearsalSetup) -> Floats:
    """Mark what happened to each gap of each record, shape (N, m, e)."""
    lower, upper, truth = judged.lower_db, judged.upper_db, shared.truth_db
    finite = np.isfinite(lower) & np.isfinite(upper)
    with np.errstate(invalid="ignore"):
        real = np.isin(judged.verdict, REAL)  # against the best, limits alone do not tell: 0 always lies within
        above, below = real & (judged.gap_db > 0), real & (judged.gap_db < 0)
        covered = ~finite | ((lower <= truth) & (truth <= upper))
    noticed = np.where(truth > 0, above, np.where(truth < 0, below, False))
    wrong = np.where(truth > 0, below, np.where(truth < 0, above, above | below))
    marks = [judged.verdict == verdict for verdict in VERDICTS]
    return np.stack([*marks, noticed, wrong, covered, ~finite], axis=2).astype(float)
