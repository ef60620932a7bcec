"""How honest the judgement stays on records that are worse than planned: false alarms, coverage, and what warns.

Run by hand: ``python tests/benchmarks/hard_records.py [--records N] [--minutes M] [--only WORD]``. Every record is
without any gap between its candidates; an alarm is a record in which some gap is called real. "unwarned" counts alarms
in records whose result holds none of the warnings that speak of what is wrong with it. Monte Carlo errors stand beside.

Cases take turns, a batch of records each, so that a run that is cut short has measured all of them alike; the table is
printed after each round. A batch is drawn from the seed and its number alone.
"""

from __future__ import annotations

import argparse
import math
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from unittest.mock import patch

import numpy as np
import pandas as pd

from antexp.analysis.judge import judge_record
from antexp.analysis.settings import settle
from antexp.field.readings import read_readings

WARN = {
    "drift-form-not-enough", "odd-swap", "unequal-scatter", "carry-over", "coarse-meter", "all-readings-equal",
    "rests-on-equal-scatter",
}  # fmt: skip
_NO_BEST = SimpleNamespace(could_be_best=())
REHANG, READING = 0.35, 0.25
Levels = np.ndarray


@dataclass(frozen=True)
class Case:
    """One kind of hard record.

    Attributes
    ----------
    name : str
    trouble : callable
        Takes the swaps' table and a generator, returns what is added to each swap's level, dB.
    inside : bool
        Whether the reference also hangs in the middle of each block.
    step_db : float or None
        The meter's step.
    missing : float
        Share of swaps that are missing.
    drift : str
        Form that is fitted.
    """

    name: str
    trouble: Callable[[pd.DataFrame, np.random.Generator], Levels]
    inside: bool = True
    step_db: float | None = None
    missing: float = 0.0
    drift: str = "steady"


def nothing(swaps: pd.DataFrame, random: np.random.Generator) -> Levels:
    """Nothing is wrong."""
    return np.zeros(len(swaps))


def wander(times: float) -> Callable[[pd.DataFrame, np.random.Generator], Levels]:
    """Let the path take a random step before every swap, `times` the re-hanging scatter."""

    def walk(swaps: pd.DataFrame, random: np.random.Generator) -> Levels:
        return np.cumsum(random.normal(0, times * REHANG, len(swaps)))

    return walk


def jumps(size_db: float) -> Callable[[pd.DataFrame, np.random.Generator], Levels]:
    """Let the level jump once, somewhere inside every second block."""

    def jump(swaps: pd.DataFrame, random: np.random.Generator) -> Levels:
        added = np.zeros(len(swaps))
        for block in range(0, int(swaps["block"].max()) + 1, 2):
            own = np.flatnonzero(swaps["block"] == block)
            added[own[random.integers(2, len(own) - 1) :]] = size_db * random.choice([-1, 1])
        return added

    return jump


def gusts(swaps: pd.DataFrame, random: np.random.Generator) -> Levels:
    """Throw one swap in twenty off by 2 dB."""
    return np.where(random.random(len(swaps)) < 0.05, random.choice([-2.0, 2.0], len(swaps)), 0.0)


def unequal(times: float) -> Callable[[pd.DataFrame, np.random.Generator], Levels]:
    """Let one candidate scatter more."""

    def more(swaps: pd.DataFrame, random: np.random.Generator) -> Levels:
        own = random.normal(0, REHANG * math.sqrt(times**2 - 1), len(swaps))
        return np.where(swaps["candidate"] == "B", own, 0.0)

    return more


CASES = (
    Case("nothing wrong", nothing),
    Case("wander 0.5 x re-hanging a swap", wander(0.5)),
    Case("wander 1 x", wander(1.0)),
    Case("wander 1 x, reference at ends only", wander(1.0), inside=False),
    Case("wander 3 x", wander(3.0)),
    Case("wander 3 x, reference at ends only", wander(3.0), inside=False),
    Case("wander 3 x, judged as wandering", wander(3.0), drift="wandering"),
    Case("a jump of 1 dB in every second block", jumps(1.0)),
    Case("a jump of 2 dB in every second block", jumps(2.0)),
    Case("one swap in 20 off by 2 dB", gusts),
    Case("a fifth of the swaps missing", nothing, missing=0.2),
    Case("one wire scatters 2 times as much", unequal(2.0)),
    Case("one wire scatters 3 times as much", unequal(3.0)),
    Case("rounded to 1 dB", nothing, step_db=1.0),
    Case("rounded to 6 dB", nothing, step_db=6.0),
)


def swaps_of(case: Case, random: np.random.Generator, blocks: int = 5) -> pd.DataFrame:
    """Lay out blocks of a reference and four candidates in random order."""
    rows = []
    for block in range(blocks):
        inner = list(random.permutation(["B", "C", "D", "E"]))
        names = ["ref", *inner[:2], *(["ref"] if case.inside else []), *inner[2:], "ref"]
        rows += [(block, name, 7.0 * position) for position, name in enumerate(names)]
    return pd.DataFrame(rows, columns=["block", "candidate", "minutes"])


def record_of(case: Case, random: np.random.Generator) -> pd.DataFrame:
    """Draw one record."""
    swaps = swaps_of(case, random)
    level = -60 + random.normal(0, 1.0, 5)[swaps["block"]] + random.normal(0, 0.5, 5)[swaps["block"]] * (
        swaps["minutes"].to_numpy() / 60 - 0.35
    )
    level = level + case.trouble(swaps, random) + random.normal(0, REHANG, len(swaps))
    if case.step_db == 6.0:
        level = level + random.uniform(-3, 3)
    swaps = swaps.assign(swap=np.arange(1, len(swaps) + 1), level=level)
    if case.missing:
        kept = (random.random(len(swaps)) >= case.missing) | (swaps["candidate"] == "ref")
        swaps = swaps[kept]
    table = swaps.loc[swaps.index.repeat(3)].reset_index(drop=True)
    table["level_db"] = table["level"] + random.normal(0, READING, len(table))
    if case.step_db:
        table["level_db"] = np.round(np.round(table["level_db"] / case.step_db) * case.step_db, 6)
    return table.drop(columns="level")


@dataclass
class Counts:
    """What a case has come to so far.

    Attributes
    ----------
    records, alarms, warned, unwarned : int
        Records judged; with an alarm; with a warning; with an alarm and no warning.
    gaps, covered : int
        Single gaps, and those whose limits hold 0.
    seconds : float
        Time spent on them.
    """

    records: int = 0
    alarms: int = 0
    warned: int = 0
    unwarned: int = 0
    gaps: int = 0
    covered: int = 0
    seconds: float = 0.0

    def percent(self, count: int) -> tuple[float, float]:
        """Return a share of the records and its Monte Carlo error, per cent."""
        share = count / self.records
        return 100 * share, 100 * math.sqrt(max(share * (1 - share), 0.25 / self.records) / self.records)


def measure(case: Case, records: int, seed: tuple[int, int], counts: Counts) -> None:
    """Judge a batch of records of a case and add to its counts."""
    random = np.random.default_rng(np.random.SeedSequence(seed[0], spawn_key=(CASES.index(case), seed[1])))
    settings, _ = settle(None, reference="ref", matter_db=1.0, drift=case.drift)
    start = time.perf_counter()
    for _ in range(records):
        # which candidate is the best is not counted here, and takes half of the time
        with warnings.catch_warnings(), patch("antexp.analysis.judge.compare_best", lambda *_: _NO_BEST):
            warnings.simplefilter("ignore")
            found = judge_record(read_readings(record_of(case, random), step_db=case.step_db), settings)
        rows = found.family
        alarm = bool(rows["verdict"].str.startswith("real").any())
        said = bool(WARN & {notice.code for notice in found.warnings})
        counts.records += 1
        counts.alarms += alarm
        counts.warned += said
        counts.unwarned += alarm and not said
        counts.gaps += len(rows)
        for low, high in rows["interval_db"]:
            counts.covered += not (np.isfinite(low) and low > 0) and not (np.isfinite(high) and high < 0)
    counts.seconds += time.perf_counter() - start


def print_table(found: dict[str, Counts]) -> None:
    """Print what there is."""
    print("| what is wrong | records | alarms % | unwarned alarms % | warned records % | single gaps covered % | ms |")
    print("|---|---:|---:|---:|---:|---:|---:|")
    for name, counts in found.items():
        alarms, unwarned = counts.percent(counts.alarms), counts.percent(counts.unwarned)
        print(f"| {name} | {counts.records} | {alarms[0]:.1f} ± {alarms[1]:.1f} | "
              f"{unwarned[0]:.1f} ± {unwarned[1]:.1f} | {counts.percent(counts.warned)[0]:.1f} | "
              f"{100 * counts.covered / counts.gaps:.2f} | {1e3 * counts.seconds / counts.records:.0f} |")
    print(flush=True)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=2000)
    parser.add_argument("--batch", type=int, default=50)
    parser.add_argument("--minutes", type=float, default=math.inf, help="no round begins after so many")
    parser.add_argument("--only", default="", help="cases with this word in their name")
    parser.add_argument("--seed", type=int, default=8)
    chosen = parser.parse_args()
    end = time.monotonic() + 60 * chosen.minutes
    found = {case.name: Counts() for case in CASES if chosen.only in case.name}
    for batch in range(-(-chosen.records // chosen.batch)):
        if time.monotonic() > end:
            break
        for case in CASES:
            if case.name in found:
                measure(case, min(chosen.batch, chosen.records - batch * chosen.batch), (chosen.seed, batch),
                        found[case.name])
        print_table(found)


if __name__ == "__main__":
    main()
