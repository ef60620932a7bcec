"""The rehearsal: simulate the planned day many times and judge every record the way `judge` does."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Mapping
from concurrent.futures import Executor, Future
from dataclasses import dataclass, replace
from typing import Any, Unpack

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.order_document import Order
from antexp.design.planned_looks import end_confidence
from antexp.design.randomisation import Progress
from antexp.errors import Fault, RepeatsError, seed_faults
from antexp.json_text import JsonText
from antexp.mixed.verdict import VERDICTS
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.repeats.judged_records import Question
from antexp.repeats.layout import layout_of
from antexp.repeats.rehearsal_chunk import (
    COVERED,
    EVENTS,
    NO_INTERVAL,
    NOTICED,
    WRONG,
    Counts,
    RehearsalSetup,
    count_chunk,
    draw_chunk,
    readings_frame,
    row_pairs,
)
from antexp.repeats.scoped_model import ANY, scoped_models
from antexp.repeats.simulate import readings_table, truth_of
from antexp.repeats.world import Path, WorldKeywords, world_of
from antexp.views import Viewable

MOST_RECORDS = 1_000_000_000
# Chunks handed out at a time: enough to keep a cluster busy, few enough that waiting ones cost nothing.
_IN_FLIGHT = 64


@dataclass(frozen=True, eq=False)
class Rehearsal(JsonText, Viewable):
    """What the records of a rehearsal came to.

    Attributes
    ----------
    table : DataFrame
        One row a gap: ``candidate, against, scope, true_gap_db``; for each of the five verdicts its share, named as
        the verdict, and its Monte Carlo standard error, ``"<verdict> se"``; ``noticed`` (the interval excludes 0 on
        the right side), ``wrong_way`` (on the wrong side, or at all where the true gap is 0), ``covered`` (the
        interval holds the true gap), ``no_interval``, each with ``…_se``; ``half_width_db``, the mean.
    records : int
        How many were judged.
    all_noticed, all_noticed_se : float
        Share of records in which every gap was noticed.
    any_missed, any_missed_se : float
        Share of records in which some interval misses its true gap; at most 1 − confidence where all is well.
    matter_db : float or None, dB
    confidence : float
        Of the limits; where the plan names looks before the end, those at the end.
    seed : int
    """

    table: pd.DataFrame
    records: int
    all_noticed: float
    all_noticed_se: float
    any_missed: float
    any_missed_se: float
    matter_db: float | None
    confidence: float
    seed: int

    def to_dict(self) -> dict[str, Any]:
        """Return the rehearsal as the JSON document holds it."""
        names = ("records", "all_noticed", "all_noticed_se", "any_missed", "any_missed_se", "matter_db", "confidence",
                 "seed")
        return {**{name: getattr(self, name) for name in names}, "table": self.table.to_dict(orient="records")}


def rehearse(
    plan: str | os.PathLike[str] | Plan,
    order: str | os.PathLike[str] | Order | pd.DataFrame,
    gaps_db: Mapping[str, float] | None = None,
    *,
    records: int = 10_000,
    seed: int = 1,
    executor: Executor | None = None,
    progress: Progress | None = None,
    path_db: Path | None = None,
    **world: Unpack[WorldKeywords],
) -> Rehearsal:
    """Simulate a planned day many times and judge every record.

    Parameters
    ----------
    plan : path or Plan
        Spreads, drift, meter and question.
    order : path, Order or DataFrame
        What hangs when.
    gaps_db : mapping of str to float, optional, dB
        True level of candidates above the reference; those left out have gap 0. Where the verdict is about
        ``these specimens`` they are the gaps of these specimens, else of the candidates in general.
    records : int
        How many.
    seed : int
        The same seed gives the same answer, whatever the number of workers.
    executor : concurrent.futures.Executor, optional
        Where the chunks run: threads, processes, or a cluster (``dask.distributed.Client(…).get_executor()``).
    progress : callable, optional
        Called with the share done, 0 … 1, and what is being done.
    path_db : callable, optional
        A fixed path, as `antexp.simulate` takes it.
    **world
        As `antexp.simulate` takes them, ``missing_share`` and ``wander_db_per_sqrt_hour`` among them.

    Returns
    -------
    Rehearsal

    Raises
    ------
    FileError, PlanError, OrderError
        When a file is at fault.
    RepeatsError
        When a value is impossible, or the order cannot be judged.

    Notes
    -----
    Every record goes through the kernel that judges (fits, limits of the family, verdicts); the records of a layout
    are only taken together. Drawn with a generator a chunk, the chunk size depending on the layout alone. Where only
    some gaps speak of ``these specimens``, the limits of those are moved by what the drawn specimens lie apart, so
    that these gaps too are those asked for; against the best of the others this is not done.
    """
    _check_numbers(records, seed)
    shared = _shared(as_plan(plan), order, gaps_db, seed, path_db, world)
    counts = _count(shared, records, executor, progress or (lambda share, what: None))
    return _result(shared, counts)


def rehearsed_record(
    plan: Plan, order: Order | pd.DataFrame, gaps_db: Mapping[str, float] | None = None, *, record: int, seed: int = 1,
    path_db: Path | None = None, **world: Unpack[WorldKeywords],
) -> pd.DataFrame:
    """Return one record of a rehearsal as readings, to look at it or judge it alone.

    Parameters
    ----------
    plan, order, gaps_db, seed, path_db, **world
        As in `rehearse`.
    record : int
        Its number, counted from 0.

    Returns
    -------
    DataFrame
        As `antexp.simulate` returns it.
    """
    shared = _shared(plan, order, gaps_db, seed, path_db, world)
    index, inside = divmod(record, shared.chunk_size)
    drawn, done = draw_chunk(shared, index)
    table = readings_table(shared.layout, shared.world, drawn, inside, plan.meter.scale)
    if done is not None:
        kept = done[:, inside * done.shape[1] // shared.chunk_size]
        table = table[np.repeat(kept, shared.world.readings)].reset_index(drop=True)
    table.attrs["truth"] = truth_of(shared.layout, shared.world, drawn, inside)
    return table


def _shared(
    plan: Plan, order: str | os.PathLike[str] | Order | pd.DataFrame, gaps_db: Mapping[str, float] | None, seed: int,
    path_db: Path | None,
    changes: Mapping[str, Any],
) -> RehearsalSetup:
    """Prepare what all chunks share."""
    world = world_of(plan, gaps_db, path_db=path_db, **changes)
    layout = layout_of(order, plan.field.minutes_per_swap, world.break_minutes)
    models = scoped_models(readings_frame(layout, world), plan.reference, plan.field.drift, plan.question.compare)
    if "centre_specimens" not in changes and all(scope.scope != ANY for scope in models.scopes):
        world = replace(world, centre_specimens=True)
    if not models.scopes or len(layout) <= models.these.model.X.shape[1]:
        raise RepeatsError(Fault("the order leaves no swap to judge the scatter by", "order", f"{len(layout)} swaps",
                                 do="Plan more blocks, or larger ones."))
    pairs = row_pairs(models, plan.question.compare)
    confidence = end_confidence(plan.field.may_stop_after, len(set(layout.block)), plan.question.confidence)
    asked = Question(plan.question.compare, plan.question.matter_db, confidence, world.step_db)
    return RehearsalSetup(layout, world, models, pairs, _truth(pairs, world.gaps_db, asked.compare), plan.reference,
                     plan.field.drift, asked, seed)


def _truth(pairs: tuple[tuple[str, str], ...], gaps_db: Mapping[str, float], compare: str) -> NDArray[np.float64]:
    """Return the true gap of each row."""
    if compare == "best":
        names = [name for name, _ in pairs]
        return np.array([gaps_db[name] - max(gaps_db[other] for other in names if other != name) for name in names])
    return np.array([gaps_db[candidate] - gaps_db[against] for candidate, against in pairs])


def _check_numbers(records: int, seed: int) -> None:
    """Refuse an impossible number of records or seed."""
    faults = [*seed_faults(seed)]
    if not (isinstance(records, int | np.integer) and 1 <= records <= MOST_RECORDS):
        faults.append(Fault("records is not a number of records", got=repr(records),
                            allowed=f"a whole number from 1 to {MOST_RECORDS:,}"))
    if faults:
        raise RepeatsError(faults)


def _count(shared: RehearsalSetup, records: int, executor: Executor | None, progress: Progress) -> Counts:
    """Run all chunks and add up their counts, in the order of their numbers."""
    size = shared.chunk_size
    chunks = -(-records // size)
    jobs = [(index, min(size, records - index * size)) for index in range(chunks)]
    total: Counts | None = None
    if executor is None:
        for done, (index, some) in enumerate(jobs, start=1):
            counts = count_chunk(shared, index, some)
            total = counts if total is None else total.plus(counts)
            progress(done / chunks, "rehearsing")
    else:
        waiting: deque[Future[Counts]] = deque()
        todo = iter(jobs)
        for done in range(1, chunks + 1):
            while len(waiting) < _IN_FLIGHT and (job := next(todo, None)) is not None:
                waiting.append(executor.submit(count_chunk, shared, *job))
            counts = waiting.popleft().result()
            total = counts if total is None else total.plus(counts)
            progress(done / chunks, "rehearsing")
    assert total is not None
    return total


def _result(shared: RehearsalSetup, counts: Counts) -> Rehearsal:
    """Turn counts into shares with their Monte Carlo errors."""
    share, error = _shares(counts.sums, counts.squares, counts)
    joint, joint_error = _shares(counts.joint_sums, counts.joint_squares, counts)
    scope_of = {pair: scope.scope for scope in shared.models.scopes for pair in scope.pairs}
    columns: dict[str, Any] = {
        "candidate": [pair[0] for pair in shared.pairs],
        "against": [pair[1] for pair in shared.pairs],
        "scope": [scope_of.get(pair, shared.models.scopes[0].scope) for pair in shared.pairs],
        "true_gap_db": shared.truth_db,
    }
    names = {**{verdict: verdict for verdict in VERDICTS}, NOTICED: "noticed", WRONG: "wrong_way",
             COVERED: "covered", NO_INTERVAL: "no_interval"}
    for event, name in names.items():
        place = EVENTS.index(event)
        columns[name] = share[:, place]
        columns[f"{name} se" if event in VERDICTS else f"{name}_se"] = error[:, place]
    with_interval = counts.records - counts.sums[:, EVENTS.index(NO_INTERVAL)]
    columns["half_width_db"] = np.divide(counts.half_width_db, with_interval, where=with_interval > 0,
                                         out=np.full(len(with_interval), np.nan))
    return Rehearsal(pd.DataFrame(columns), counts.records, float(joint[0]), float(joint_error[0]), float(joint[1]),
                     float(joint_error[1]), shared.asked.matter_db, shared.asked.confidence, shared.seed)


def _shares(
    sums: NDArray[np.float64], squares: NDArray[np.float64], counts: Counts
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return shares and their standard errors; records that share missing swaps count as one draw of them."""
    share = sums / counts.records
    clusters = max(counts.clusters, 2)
    between = np.maximum(squares / clusters - (sums / clusters) ** 2, 0.0) * clusters / (clusters - 1)
    return share, np.sqrt(between / clusters) * clusters / counts.records
