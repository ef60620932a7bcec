"""How honest the judgement stays on records that are worse than planned: false alarms, coverage, and what warns.

Run by hand: ``python tests/benchmarks/hard_records.py [--records N] [--only WORD]``. Every record is without any gap
between its candidates; an alarm is a record in which some gap is called real. "unwarned" counts alarms in records whose
result holds none of the warnings that speak of what is wrong with it. Monte Carlo errors stand beside.
"""

from __future__ import annotations

import argparse
import math
import time
import warnings
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from antexp.analysis.judge import judge_record
from antexp.analysis.settings import settle
from antexp.field.readings import read_readings

WARN = {
    "drift-form-not-enough", "odd-swap", "unequal-scatter", "carry-over", "coarse-meter", "all-readings-equal",
    "rests-on-equal-scatter", "few-degrees-of-freedom", "small-block", "swap-scatter-at-zero",
}  # fmt: skip
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


def measure(case: Case, records: int, seed: int) -> dict[str, float]:
    """Judge many records of a case."""
    random = np.random.default_rng(seed)
    settings, _ = settle(None, reference="ref", matter_db=1.0, drift=case.drift)
    alarms = unwarned = warned = covered = gaps = 0
    start = time.perf_counter()
    for _ in range(records):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = judge_record(read_readings(record_of(case, random), step_db=case.step_db), settings)
        rows = found.family
        alarm = rows["verdict"].str.startswith("real").any()
        said = bool(WARN & {notice.code for notice in found.warnings})
        alarms, warned, unwarned = alarms + alarm, warned + said, unwarned + (alarm and not said)
        for low, high in rows["interval_db"]:
            gaps += 1
            covered += not (np.isfinite(low) and low > 0) and not (np.isfinite(high) and high < 0)
    seconds = (time.perf_counter() - start) / records
    return {"alarms": alarms / records, "unwarned": unwarned / records, "warned": warned / records,
            "coverage": covered / gaps, "seconds": seconds}


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--records", type=int, default=1000)
    parser.add_argument("--only", default="")
    parser.add_argument("--seed", type=int, default=8)
    chosen = parser.parse_args()
    print(f"{'what is wrong':<40} {'alarms %':>9} {'± MC':>5} {'unwarned %':>11} {'warned %':>9} "
          f"{'each covered %':>15} {'ms':>6}")
    for case in CASES:
        if chosen.only not in case.name:
            continue
        found = measure(case, chosen.records, chosen.seed)
        error = 100 * math.sqrt(max(found["alarms"] * (1 - found["alarms"]), 1e-4) / chosen.records)
        print(f"{case.name:<40} {100 * found['alarms']:9.1f} {error:5.1f} {100 * found['unwarned']:11.1f} "
              f"{100 * found['warned']:9.1f} {100 * found['coverage']:15.2f} {1e3 * found['seconds']:6.0f}", flush=True)


if __name__ == "__main__":
    main()
