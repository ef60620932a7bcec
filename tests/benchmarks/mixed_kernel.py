"""Speed and memory of the mixed-model kernel, beside statsmodels and, where R is installed, lme4 with pbkrtest.

Run ``OPENBLAS_NUM_THREADS=1 python tests/benchmarks/mixed_kernel.py``; add ``large`` to let the other packages fit the
million readings too (about a minute and 1.5 GB). Every ratio is taken within the run, and given as the median with the
smallest and largest over the repeats. Times are processor time of the fitting process, so that a busy machine does not
blur them; with one thread that is the wall-clock time of a quiet one.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
import tracemalloc
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import statsmodels.api as sm

from antexp.mixed import LevelColumns, fit_reml, level_columns
from antexp.mixed.many_responses import many_responses

HERE = Path(__file__).parent
REPEATS = 5


class Day:
    """A record: swaps of candidates in blocks with lines, the reference at both ends of a block of ten."""

    def __init__(self, seed: int, blocks: int, per_block: int, readings: int, candidates: int = 9) -> None:
        rng = np.random.default_rng(seed)
        swaps = blocks * per_block
        inner = np.arange(per_block - 2) % (candidates - 1) + 1
        self.candidate = np.concatenate([[0, *rng.permutation(inner), 0] for _ in range(blocks)])
        self.block = np.repeat(np.arange(blocks), per_block)
        self.minute = np.tile((np.arange(per_block) - (per_block - 1) / 2) * 6.0, blocks)
        each = np.repeat(np.arange(swaps), readings) if readings < 50 else rng.integers(0, swaps, readings)
        self.code = np.sort(each)
        self.rng, self.swaps, self.candidates, self.blocks = rng, swaps, candidates, blocks
        self.y = self.records(1)[:, 0]

    def records(self, number: int) -> np.ndarray:
        """Return levels, one column a record: swap scatter 0.5 dB, reading noise 0.4 dB."""
        Y = self.rng.standard_normal((self.swaps, number))[self.code]
        Y *= 0.5
        Y += 0.4 * self.rng.standard_normal(Y.shape)
        return Y

    @property
    def tables(self) -> tuple[np.ndarray, np.ndarray]:
        """Return the constant columns and the slopes by swap."""
        wires, blocks = np.eye(self.candidates)[self.candidate], np.eye(self.blocks)[self.block]
        constant = np.column_stack([wires, blocks[:, 1:], 0.0 * blocks])
        return constant, np.column_stack([0.0 * wires, 0.0 * blocks[:, 1:], blocks])

    @property
    def matrix(self) -> np.ndarray:
        """Return the fixed columns by reading."""
        constant, slopes = self.tables
        return (constant + self.minute[:, None] * slopes)[self.code]

    @property
    def by_level(self) -> LevelColumns:
        """Return the fixed columns by swap."""
        constant, slopes = self.tables
        return level_columns(self.code, constant, minutes=(self.minute[self.code], slopes))

    @property
    def gaps(self) -> np.ndarray:
        """Return the gaps to the reference."""
        k = self.candidates - 1
        return np.column_stack([-np.ones(k), np.eye(k), np.zeros((k, 2 * self.blocks - 1))])

    def write(self, folder: Path) -> None:
        """Write the record for R."""
        for name in ("candidate", "block", "minute"):
            getattr(self, name)[self.code].astype("<f8").tofile(folder / f"{name}.bin")
        self.y.astype("<f8").tofile(folder / "y.bin")
        self.code.astype("<f8").tofile(folder / "swap.bin")


def seconds(call: Callable[[], object], repeats: int = REPEATS) -> np.ndarray:
    """Return the times of some runs after a first one that is not counted."""
    call()
    taken = []
    for _ in range(repeats):
        start = time.process_time()
        call()
        taken.append(time.process_time() - start)
    return np.array(taken)


def megabytes(call: Callable[[], object]) -> float:
    """Return the most memory a run takes above what is there."""
    tracemalloc.start()
    call()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak / 1e6


def spread(values: np.ndarray, form: str = ".3g") -> str:
    """Return median (smallest to largest)."""
    return f"{np.median(values):{form}} ({values.min():{form}} to {values.max():{form}})"


def by_r(day: Day, repeats: int, judge: bool) -> tuple[np.ndarray, float] | None:
    """Time lme4, with pbkrtest if asked; None where R is not installed."""
    if shutil.which("Rscript") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        day.write(Path(folder))
        command = ["Rscript", str(HERE / "mixed_kernel.R"), folder, str(repeats), "yes" if judge else "no"]
        run = subprocess.run(command, capture_output=True, text=True, check=False)
    if run.returncode != 0:
        return None
    lines = [line.split() for line in run.stdout.splitlines()]
    times = np.array([float(value) for key, value in lines if key == "seconds"])
    return times, next(float(value) for key, value in lines if key == "megabytes")


def by_statsmodels(day: Day, X: np.ndarray) -> Callable[[], object]:
    """Return a run of MixedLM."""

    def run() -> object:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return sm.MixedLM(day.y, X, groups=day.code).fit(reml=True)

    return run


def one_record() -> None:
    """Time a day of 180 readings: fit and Kenward-Roger for eight gaps."""
    day = Day(1, 6, 10, 3)
    X, L = day.matrix, day.gaps
    own = seconds(lambda: fit_reml(day.y, X, {"swap": day.code}).contrasts(L), 20)
    print("\n### One record of 180 readings, fitted and eight gaps judged\n")
    print("| | time, ms | times slower |\n|---|---|---|")
    print(f"| this kernel, REML + Kenward–Roger | {spread(1e3 * own)} | 1 |")
    other = seconds(by_statsmodels(day, X))
    print(f"| statsmodels MixedLM, REML alone | {spread(1e3 * other)} | {spread(other / np.median(own))} |")
    from_r = by_r(day, REPEATS + 1, True)
    if from_r:
        times = from_r[0][1:]
        print(f"| lme4 + pbkrtest, the same inference | {spread(1e3 * times)} | {spread(times / np.median(own))} |")


def many_records() -> None:
    """Time 10,000 records of one design, and two random terms against a loop."""
    day = Day(1, 6, 10, 3)
    X, L = day.matrix, day.gaps
    whole = seconds(lambda: many_responses(day.records(10_000), X, {"swap": day.code}, L))
    loop = seconds(lambda: fit_reml(day.y, X, {"swap": day.code}).contrasts(L), 20)
    print("\n### Many records of one design\n")
    print("| 10,000 records of 180 readings | time, s | a loop of single fits takes |\n|---|---|---|")
    print(f"| generated, fitted and judged, swaps | {spread(whole)} | {spread(1e4 * loop / np.median(whole))} times |")
    for name, readings in (("3 readings each", 3), ("1-5 readings", np.random.default_rng(0).integers(1, 6, 60))):
        odd = Day(1, 6, 10, 3)
        odd.code = np.repeat(np.arange(60), readings)
        specimen = (odd.candidate * 2 + odd.rng.integers(0, 2, 60))[odd.code]
        groups = {"specimen": specimen, "swap": odd.code}
        X2 = odd.matrix
        Y = odd.records(10_000) + 0.2 * odd.rng.standard_normal((18, 10_000))[specimen]
        fits = seconds(lambda Y=Y, X2=X2, groups=groups: many_responses(Y, X2, groups, L), 3)
        single = seconds(lambda Y=Y, X2=X2, groups=groups: loop_of(Y[:, :30], X2, groups, L), 3) / 30
        ratio = spread(1e4 * single / fits)
        print(f"| fitted and judged, specimens and swaps, {name} | {spread(fits)} | {ratio} times |")


def loop_of(Y: np.ndarray, X: np.ndarray, groups: dict, L: np.ndarray) -> None:
    """Fit records one by one."""
    for y in Y.T:
        fit_reml(y, X, groups).contrasts(L)


def large_record(others: bool) -> None:
    """Time a million readings in a thousand swaps."""
    print("\n### A million readings in 1,000 swaps: REML + Kenward–Roger of eight gaps\n")
    print("| | time, s | memory above the data, MB |\n|---|---|---|")
    day = Day(2, 5, 200, 1_000_000)
    X, L, groups = day.matrix, day.gaps, {"swap": day.code}
    own = seconds(lambda: fit_reml(day.y, X, groups).contrasts(L))
    extra = megabytes(lambda: fit_reml(day.y, X, groups).contrasts(L))
    print(f"| 18 fixed columns as a matrix (144 MB) | {spread(own)} | {extra:.0f} |")
    if others:
        large_by_others(day, X, float(np.median(own)))
    for blocks in (5, 100):
        day = Day(2, blocks, 1000 // blocks, 1_000_000)
        columns, L, groups = day.by_level, day.gaps, {"swap": day.code}
        own = seconds(lambda c=columns, L=L, g=groups, d=day: fit_reml(d.y, c, g).contrasts(L))
        extra = megabytes(lambda c=columns, L=L, g=groups, d=day: fit_reml(d.y, c, g).contrasts(L))
        print(f"| {columns.shape[1]} fixed columns kept by level | {spread(own)} | {extra:.0f} |")


def large_by_others(day: Day, X: np.ndarray, own: float) -> None:
    """Let the other packages fit the million readings, once."""
    run = by_statsmodels(day, X)
    start = time.process_time()
    run()
    taken = time.process_time() - start
    extra = megabytes(run)
    print(f"| the same by statsmodels MixedLM, REML alone: {taken / own:.0f} times | {taken:.1f} | {extra:.0f} |")
    from_r = by_r(day, 1, False)
    if from_r:
        times, used = from_r
        print(f"| the same by lme4, REML alone (all of R): {times[0] / own:.0f} times | {times[0]:.1f} | {used:.0f} |")


def growth() -> None:
    """Print growth curves."""
    print("\n### Growth\n\n| what grows | size: time, ms |\n|---|---|")
    curves: dict[str, list[tuple[int, Callable[[], object]]]] = {}
    for n in (10_000, 100_000, 1_000_000):
        day = Day(3, 5, 200, n)
        X, L = day.matrix, day.gaps
        curves.setdefault("readings (1,000 swaps, 18 columns)", []).append(
            (n, lambda d=day, X=X, L=L: fit_reml(d.y, X, {"swap": d.code}).contrasts(L))
        )
    for swaps in (100, 1_000, 10_000):
        day = Day(3, 5, swaps // 5, 100_000)
        X, L = day.matrix, day.gaps
        curves.setdefault("swaps (100,000 readings, 18 columns)", []).append(
            (swaps, lambda d=day, X=X, L=L: fit_reml(d.y, X, {"swap": d.code}).contrasts(L))
        )
    for blocks in (5, 20, 50, 100, 200):
        day = Day(3, blocks, 2_000 // blocks, 100_000)
        columns, L = day.by_level, day.gaps
        curves.setdefault("fixed columns by level (100,000 readings, 2,000 swaps)", []).append(
            (columns.shape[1], lambda d=day, c=columns, L=L: fit_reml(d.y, c, {"swap": d.code}).contrasts(L))
        )
    day = Day(3, 6, 10, 3)
    X, L = day.matrix, day.gaps
    for number in (100, 1_000, 10_000, 100_000):
        Y = day.records(number)
        curves.setdefault("records of 180 readings, given", []).append(
            (number, lambda Y=Y: many_responses(Y, X, {"swap": day.code}, L))
        )
    for name, points in curves.items():
        print(f"| {name} | " + ", ".join(f"{n:,}: {1e3 * seconds(call, 3).min():.3g}" for n, call in points) + " |")


def main() -> None:
    """Print every table."""
    one_record()
    many_records()
    large_record("large" in sys.argv[1:])
    growth()


if __name__ == "__main__":
    main()
