"""How times grow with readings, swaps, fixed columns and records, for `tests/benchmarks/speed.py`."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from antexp.mixed import fit_reml
from antexp.mixed.many_responses import many_responses
from tests.benchmarks.mixed_kernel import Day, by_statsmodels, seconds

REPEATS = 5
PEERS_UP_TO = 100_000  # readings that statsmodels is given too, and swaps of a hundredth of that


@dataclass(frozen=True)
class Curve:
    """Times as one thing grows.

    Attributes
    ----------
    what, beside : str
        What grows, and what stays.
    who : str
    size : list of int
    seconds : list of ndarray
        Of the repeats, one array a size.
    """

    what: str
    beside: str
    who: str
    size: list[int]
    seconds: list[np.ndarray]

    @property
    def slope(self) -> float:
        """The power of size that time grows with between the last two sizes."""
        last = [float(np.median(each)) for each in self.seconds[-2:]]
        return float(np.log(last[1] / last[0]) / np.log(self.size[-1] / self.size[-2]))


def curves() -> list[Curve]:
    """Measure all curves."""
    return [*by_readings(), *by_swaps(), by_columns(), by_records()]


def by_readings() -> Iterator[Curve]:
    """Grow the readings."""
    days = {n: Day(3, 5, 200, n) for n in (10_000, 100_000, 1_000_000)}
    yield _curve("readings", "1,000 swaps, 18 fixed columns", "antexp", days, _judged)
    few = {n: day for n, day in days.items() if n <= PEERS_UP_TO}
    yield _curve("readings", "1,000 swaps, 18 fixed columns", "statsmodels", few, _by_statsmodels, 3)


def by_swaps() -> Iterator[Curve]:
    """Grow the swaps."""
    days = {n: Day(3, 5, n // 5, 100_000) for n in (100, 1_000, 10_000)}
    yield _curve("swaps", "100,000 readings, 18 fixed columns", "antexp", days, _judged)
    few = {n: day for n, day in days.items() if n <= PEERS_UP_TO // 100}
    yield _curve("swaps", "100,000 readings, 18 fixed columns", "statsmodels", few, _by_statsmodels, 3)


def by_columns() -> Curve:
    """Grow the fixed columns: two for each block."""
    days = (Day(3, blocks, 2_000 // blocks, 100_000) for blocks in (5, 20, 50, 100, 200))
    return _curve("fixed columns", "100,000 readings, 2,000 swaps", "antexp", {d.by_level.shape[1]: d for d in days},
                  lambda day: _fit_and_judge(day, day.by_level))


def by_records() -> Curve:
    """Grow the records of one design."""
    day = Day(3, 6, 10, 3)
    X, L = day.matrix, day.gaps
    found = {n: day.records(n) for n in (100, 1_000, 10_000, 100_000)}
    return _curve("records", "180 readings, 18 fixed columns, eight gaps", "antexp", found,
                  lambda Y: lambda: many_responses(Y, X, {"swap": day.code}, L))


def _judged(day: Day) -> Callable[[], object]:
    return _fit_and_judge(day, day.matrix)


def _by_statsmodels(day: Day) -> Callable[[], object]:
    return by_statsmodels(day, day.matrix)


def _fit_and_judge(day: Day, columns: object) -> Callable[[], object]:
    """Return a run of fitting and judging eight gaps; the columns are made before."""
    L = day.gaps
    return lambda: fit_reml(day.y, columns, {"swap": day.code}).contrasts(L)


def _curve(what: str, beside: str, who: str, cases: dict, run_of: Callable, repeats: int = REPEATS) -> Curve:
    return Curve(what, beside, who, list(cases), [seconds(run_of(case), repeats) for case in cases.values()])
