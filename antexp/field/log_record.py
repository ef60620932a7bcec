"""A readings file out of a continuous log and the hanging end's times."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from itertools import pairwise

import numpy as np

from antexp.errors import Fault, ReadingsError
from antexp.field.hanging_file import Hanging, HangingRecord, read_hanging_record
from antexp.field.level_log import LogReading, Part, cut_log
from antexp.field.log_faults import LogForm, log_form
from antexp.field.record_book import Row
from antexp.field.swap_list import PlannedSwap, SwapList
from antexp.notices import Notice

SETTLE_S = 15.0
GUARD_S = 5.0
LOG_COLUMNS: tuple[str, ...] = (
    "swap", "block", "word", "candidate", "specimen", "place", "reading", "time", "level_db", "samples", "scatter_db",
    "swr", "height_m", "source_db", "handling", "handling_note", "keep", "note", "correction",
)


@dataclass(frozen=True)
class LogRecord:
    """Readings cut from a log.

    Attributes
    ----------
    columns : tuple of str
    rows : tuple of Row
    notices : tuple of Notice
    """

    columns: tuple[str, ...]
    rows: tuple[Row, ...]
    notices: tuple[Notice, ...]


def record_from_log(
    log: str | os.PathLike[str], times: str | os.PathLike[str], swaps: SwapList, *, readings: int,
    settle_s: float = SETTLE_S, guard_s: float = GUARD_S, log_ahead_s: float | None = None,
) -> LogRecord:
    """Cut a log into the readings of the swaps.

    Parameters
    ----------
    log : path-like
        CSV with ``time`` and ``level_db``.
    times : path-like
        The hanging end's file: it says from when to when each swap was up, and what hung.
    swaps : SwapList
    readings : int
        How many readings to make of a swap.
    settle_s, guard_s : float, seconds
        Left out at the beginning and at the end of each swap.
    log_ahead_s : float, optional, seconds
        How far the log's clock is ahead of the hanging end's; left out: as the hanging end found it by comparing
        clocks, else 0.

    Raises
    ------
    FileError, ReadingsError
        When a file cannot be used, the swaps overlap, or nothing of the log falls into any of them.
    """
    hung = read_hanging_record(times, swaps)
    ahead = log_ahead_s if log_ahead_s is not None else hung.other_ahead_s or 0.0
    planned = {swap.swap: swap for swap in swaps.swaps}
    up = sorted((one for one in hung.by_swap.values() if one.hung), key=lambda one: one.up or _NEVER)
    faults = _window_faults(hung, up)
    if faults:
        raise ReadingsError(faults[:20])
    form = log_form(log)
    parts, owners = _parts(up, form, readings, timedelta(seconds=settle_s), timedelta(seconds=guard_s),
                           timedelta(seconds=ahead))
    found = cut_log(log, parts)
    if not any(reading.samples for reading in found):
        raise ReadingsError(_nothing(log, form, up))
    rows = [_row(planned[owner.swap], owner, number, reading, _moment(part, owner, form, timedelta(seconds=ahead)))
            for (owner, number), part, reading in zip(owners, parts, found, strict=True)]
    return LogRecord(LOG_COLUMNS, tuple(rows), tuple(_notices(up, owners, found)))


_NEVER = datetime.max.replace(tzinfo=UTC)


def _window_faults(hung: HangingRecord, up: Sequence[Hanging]) -> list[Fault]:
    """Return a fault for each swap without an end, and for swaps that overlap."""
    faults = [Fault("the swap has no end", f"{hung.path}, line {hanging.line}", f"swap {hanging.swap}", "",
                    "Its last step on the hanging page, source into the dummy, is missing: take the swap out with "
                    "“Hang a swap again” and “Skip this swap”, or add the row.")
              for hanging in up if hanging.down is None]
    for before, this in pairwise(up):
        if before.down and this.up and this.up < before.down:
            faults.append(Fault("two swaps overlap in time", f"{hung.path}, line {this.line}",
                                f"swap {before.swap} ends at {before.down:%H:%M:%S}, swap {this.swap} begins at "
                                f"{this.up:%H:%M:%S}"))
    if not up:
        faults.append(Fault("no swap was up", hung.path))
    return faults


def _parts(
    up: Sequence[Hanging], form: LogForm, readings: int, settle: timedelta, guard: timedelta, ahead: timedelta
) -> tuple[list[Part], list[tuple[Hanging, int]]]:
    """Return the stretches to read, in order of time, and whose they are; swaps too short have none."""
    parts: list[Part] = []
    owners: list[tuple[Hanging, int]] = []
    for hanging in up:
        assert hanging.up is not None and hanging.down is not None
        begin = form.of_moment(hanging.up + settle + ahead)
        end = form.of_moment(hanging.down - guard + ahead)
        if end - begin < readings:
            continue
        edges = np.linspace(begin, end, readings + 1).astype(np.int64)
        for number in range(readings):
            parts.append(Part(int(edges[number]), int(edges[number + 1])))
            owners.append((hanging, number + 1))
    return parts, owners


def _row(
    planned: PlannedSwap, hanging: Hanging, number: int, found: LogReading, time: datetime,
) -> Row:
    """Return one reading; one without samples is left out, and so is one of an unknown wire."""
    counts = found.samples > 0 and bool(hanging.candidate)
    notes = [] if found.samples else ["no samples in the log"]
    if found.has_bursts:
        notes.append(f"bursts: {100 * found.burst_share:.2g} % of the samples, up to {found.burst_db:.1f} dB off")
    return {
        "swap": str(planned.swap), "block": planned.block, "word": planned.word,
        "candidate": hanging.candidate or planned.candidate, "specimen": hanging.specimen or planned.specimen,
        "place": hanging.place or planned.place, "reading": str(number),
        "time": time.isoformat(timespec="seconds"),
        "level_db": f"{found.level_db:.10g}" if found.samples else "", "samples": str(found.samples),
        "scatter_db": f"{found.scatter_db:.10g}" if found.samples else "", "swr": hanging.swr,
        "height_m": hanging.height_m, "source_db": hanging.source_db, "handling": hanging.handling,
        "handling_note": hanging.handling_note,
        "keep": "1" if counts else "0", "note": "; ".join(notes),
        "correction": hanging.correction,
    }


def _moment(part: Part, hanging: Hanging, form: LogForm, ahead: timedelta) -> datetime:
    """Return the middle of a part by the hanging end's clock, in its zone."""
    assert hanging.up is not None
    middle_ns = (part.start_ns + part.stop_ns) // 2
    return hanging.up + timedelta(microseconds=(middle_ns - form.of_moment(hanging.up + ahead)) // 1000)


def _notices(
    up: Sequence[Hanging], owners: Sequence[tuple[Hanging, int]], found: Sequence[LogReading]
) -> list[Notice]:
    """Return warnings: swaps too short, parts without samples, bursts."""
    notices = []
    short = [str(hanging.swap) for hanging in up if all(owner is not hanging for owner, _ in owners)]
    empty = sorted({owner.swap for (owner, _), reading in zip(owners, found, strict=True) if not reading.samples})
    bursts = sorted({owner.swap for (owner, _), reading in zip(owners, found, strict=True) if reading.has_bursts})
    if short:
        notices.append(Notice("log-swap-too-short", "Up for less time than settles at both ends, and left out: swaps "
                              f"{', '.join(short[:20])}."))
    if empty:
        notices.append(Notice("log-without-samples", "The log has no samples, and readings are left out, in swaps "
                              f"{', '.join(map(str, empty[:20]))}."))
    if bursts:
        notices.append(Notice("log-bursts", "More than one sample in a thousand lies far off, as interference does, in "
                              f"swaps {', '.join(map(str, bursts[:20]))}; medians bear it as long as it is rare."))
    return notices


def _nothing(log: str | os.PathLike[str], form: LogForm, up: Sequence[Hanging]) -> Fault:
    first, last = up[0].up, up[-1].down
    assert first is not None and last is not None
    return Fault("nothing of the log falls into any swap", str(log),
                 f"the log begins at {form.first}, the swaps run from {first.isoformat()} to {last.isoformat()}",
                 do="Is it the log of that day? Do both clocks keep one time zone? Give --log-ahead SECONDS if the "
                 "log's clock is off.")
