"""Cuts a continuous log of levels into readings, in one pass and bounded memory.

Each swap's stretch, less a guard at both ends while things settle, is cut into as many equal parts as the swap is to
have readings. A part becomes one reading: the median of its samples, with their scatter and number. Medians come from
counts of levels in steps of 0.001 dB, so that memory does not grow with the number of samples.
"""

from __future__ import annotations

import io
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.errors import Fault, ReadingsError
from antexp.field.log_faults import LogForm, explain, log_form
from antexp.field.whole_lines import WholeLines

CHUNK_ROWS, CHUNK_CELLS = 250_000, 5_000_000
STEP_DB = 0.001
LOWEST_DB, HIGHEST_DB = -300.0, 300.0
_BINS = round((HIGHEST_DB - LOWEST_DB) / STEP_DB) + 1
# What is no scatter any more but a burst: further from the median than six robust standard deviations and than 1 dB;
# said when it is more than one sample in a thousand (common practice, no source).
BURST_SDS, BURST_AT_LEAST_DB, BURST_SHARE = 6.0, 1.0, 0.001
# MAD to standard deviation for a normal distribution, 1/Φ⁻¹(3/4).
MAD_TO_SD = 1.482602218505602


@dataclass(frozen=True)
class Part:
    """A stretch of the log that becomes one reading.

    Attributes
    ----------
    start_ns, stop_ns : int, nanoseconds
        On the log's own time axis; the stop is not included.
    """

    start_ns: int
    stop_ns: int


@dataclass(frozen=True)
class LogReading:
    """What a part holds.

    Attributes
    ----------
    samples : int
    level_db : float
        Median; NaN without samples.
    scatter_db : float
        Robust standard deviation (from the median absolute deviation); NaN without samples.
    burst_share : float
        Of the samples that are no scatter any more.
    burst_db : float
        How far the furthest of them lies from the median; 0 without any.
    """

    samples: int
    level_db: float = np.nan
    scatter_db: float = np.nan
    burst_share: float = 0.0
    burst_db: float = 0.0

    @property
    def has_bursts(self) -> bool:
        """Tell whether bursts are worth a word."""
        return self.burst_share > BURST_SHARE


@dataclass
class _Tally:
    """Counts of the levels of one part, while the log runs through it."""

    counts: NDArray[np.int64] = field(default_factory=lambda: np.zeros(_BINS, np.int64))

    def add(self, level_db: NDArray[np.float64]) -> None:
        bins = np.rint((level_db - LOWEST_DB) / STEP_DB).astype(np.int64)
        low = int(bins.min())
        found = np.bincount(bins - low)
        self.counts[low : low + len(found)] += found

    def reading(self) -> LogReading:
        """Return what was counted."""
        filled = np.flatnonzero(self.counts)
        if not filled.size:
            return LogReading(0)
        counts = self.counts[filled]
        level = LOWEST_DB + filled * STEP_DB
        middle = _median(level, counts)
        off = np.abs(level - middle)
        order = np.argsort(off, kind="stable")
        scatter = MAD_TO_SD * _median(off[order], counts[order])
        burst = off > max(BURST_SDS * scatter, BURST_AT_LEAST_DB)
        total = int(counts.sum())
        return LogReading(total, round(middle, 4), round(scatter, 4), float(counts[burst].sum()) / total,
                          float(off[burst].max(initial=0.0)))


def _median(values: NDArray[Any], counts: NDArray[np.int64]) -> float:
    """Return the median of values that stand ``counts`` times each, values ascending."""
    upto = np.cumsum(counts)
    middle = np.searchsorted(upto, [(upto[-1] - 1) // 2, upto[-1] // 2], side="right")
    return float(values[middle].mean())


def cut_log(path: str | os.PathLike[str], parts: Sequence[Part]) -> tuple[LogReading, ...]:
    """Read a log once and return what each part of it holds.

    Parameters
    ----------
    path : path-like
        CSV with columns ``time`` (ISO 8601, or seconds since 1970) and ``level_db``, times not falling; others are
        passed over, and so are samples without a level.
    parts : sequence of Part
        In order of time, none overlapping another.

    Returns
    -------
    tuple of LogReading
        One a part.

    Raises
    ------
    FileError, ReadingsError
        When the log cannot be read, or a row of it is at fault, with its line.
    """
    form = log_form(path)
    start = np.array([part.start_ns for part in parts], np.int64)
    stop = np.array([part.stop_ns for part in parts], np.int64)
    found = [LogReading(0)] * len(parts)
    tallies: dict[int, _Tally] = {}
    before = np.iinfo(np.int64).min
    for line, time_ns, level in _chunks(path, form):
        before = _check_rising(path, line, time_ns, before)
        begin, end = np.searchsorted(time_ns, start), np.searchsorted(time_ns, stop)
        for place in np.flatnonzero(end > begin).tolist():
            samples = level[begin[place] : end[place]]
            samples = samples[~np.isnan(samples)]
            if samples.size:
                tallies.setdefault(place, _Tally()).add(samples)
        for place in [place for place in tallies if stop[place] <= before]:
            found[place] = tallies.pop(place).reading()
    for place, tally in tallies.items():
        found[place] = tally.reading()
    return tuple(found)


def _chunks(
    path: str | os.PathLike[str], form: LogForm
) -> Iterator[tuple[int, NDArray[np.int64], NDArray[np.float64]]]:
    """Yield the first line, times and levels of the log, a chunk at a time."""
    line, lines = 2, WholeLines(path, form.columns)
    try:
        with io.BufferedReader(lines, 1 << 20) as stream, pd.read_csv(
            stream, usecols=["time", "level_db"], dtype={"time": form.dtype, "level_db": np.float64},
            chunksize=max(1, min(CHUNK_ROWS, CHUNK_CELLS // form.columns)), skipinitialspace=True,
            encoding="utf-8-sig", skip_blank_lines=False, index_col=False,
        ) as chunks:
            for chunk in chunks:
                level = chunk["level_db"].to_numpy()
                if (np.abs(level) > HIGHEST_DB).any():
                    raise ValueError("a level beyond what is possible")
                yield line, form.nanoseconds(chunk["time"]), level
                line += len(chunk)
    except (ValueError, TypeError, OverflowError) as error:  # pandas' parser errors are ValueErrors too
        if isinstance(error, ReadingsError):
            raise
        if lines.fault is not None:
            raise ReadingsError(lines.fault) from None
        raise ReadingsError(explain(path, form, error)) from None


def _check_rising(path: str | os.PathLike[str], line: int, time_ns: NDArray[np.int64], before: int) -> int:
    """Return the last time of a chunk; raise where times fall."""
    if not time_ns.size:
        return before
    falls = np.flatnonzero(np.diff(time_ns, prepend=before if before > np.iinfo(np.int64).min else time_ns[0]) < 0)
    if falls.size:
        raise ReadingsError(Fault("the log's times fall", f"{path}, line {line + int(falls[0])}", "",
                                  "each time at or after the one before",
                                  "Was the clock set during the day? Cut the log there and bring one part in line."))
    return int(time_ns[-1])
