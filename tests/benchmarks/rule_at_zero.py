"""The rule at zero (M7) beside keeping, dropping and the z-based answer: family false alarms at a nominal 5 %.

Run ``python tests/benchmarks/rule_at_zero.py [records per cell]``; it prints the tables that stand in
docs/explanation/kernel-figures.md.
True gaps are 0. A family is every candidate against the reference, judged by the multivariate t of the design's own
correlation and the record's smallest degrees of freedom; z judges plain errors by the multivariate normal. Reading SD
is 0.4 dB. The Monte Carlo error of 5 % in 40,000 records is 0.11 points.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator

import numpy as np

from antexp.mixed.many_responses import many_responses
from antexp.mixed.multivariate_t import critical_value

READING_SD_DB = 0.4
RULES = ("error line", "keep", "drop")
DESIGNS = 8  # different draws of an unequal design per cell


def main() -> None:
    """Print the three tables."""
    records = int(sys.argv[1]) if len(sys.argv) > 1 else 40_000
    started = time.perf_counter()
    print(f"Family false alarms, % (nominal 5; Monte Carlo error {100 * np.sqrt(0.0475 / records):.2f}), and the share")
    print("of records whose error line ends at zero.\n")
    for title, cells in (("Swaps", swap_cells()), ("Specimens", specimen_cells()), ("Random blocks", block_cells())):
        print(f"| {title} | at zero | this rule | keep | drop | z |\n|---|---|---|---|---|---|")
        for name, make in cells:
            print(f"| {name} | " + " | ".join(f"{value:.1f}" for value in rates(make, records)) + " |")
        print()
    print(f"{time.perf_counter() - started:.0f} s")


def rates(make, records: int) -> list[float]:
    """Return the share at zero and the alarm rates of one cell, in per cent."""
    alarms, at_zero, total = np.zeros(4), 0, 0
    for design in range(DESIGNS):
        rng = np.random.default_rng([7, design])
        Y, X, groups, L = make(rng, records // DESIGNS)
        for i, rule in enumerate(RULES):
            fits = many_responses(Y, X, groups, L, rule, covariances=i == 0)
            if i == 0:
                correlation = mean_correlation(fits.covariances)
                points = Points(correlation)
                at_zero += int((fits.variances[next(iter(groups))] == 0).sum())
                total += Y.shape[1]
                z = np.abs(fits.estimates / fits.plain_standard_errors).max(axis=1)
                alarms[3] += (z > points.at(np.full(1, np.inf))).sum()
            t = np.abs(fits.estimates / fits.standard_errors)
            smallest = fits.degrees_of_freedom.min(axis=1)
            alarm = t.max(axis=1) > points.at(smallest)
            alarms[i] += (alarm & ~fits.no_interval.any(axis=1)).sum()
    return [100 * at_zero / total, *(100 * alarms / total)]


def mean_correlation(covariances):
    """Return the correlation of the mean covariance."""
    mean = np.nanmean(covariances, axis=0)
    scale = np.sqrt(np.diag(mean))
    return mean / np.outer(scale, scale)


class Points:
    """Critical values by degrees of freedom, interpolated in 1/df between exact ones."""

    def __init__(self, correlation) -> None:
        self.inverse = np.linspace(0.0, 1.0, 41)
        with np.errstate(divide="ignore"):
            self.logs = np.log([critical_value(correlation, df) for df in 1.0 / self.inverse])

    def at(self, df):
        """Return the critical values at some df, infinite below 1."""
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.where(df >= 1, np.exp(np.interp(1.0 / df, self.inverse, self.logs)), np.inf)


def columns(candidate, block, candidates, blocks, lines):
    """Return cell means, blocks and, if asked, lines, by swap."""
    X = [np.eye(candidates)[candidate], np.eye(blocks)[block][:, 1:]]
    if lines:
        minute = np.tile(np.arange(candidates) - (candidates - 1) / 2, blocks)
        X.append(np.eye(blocks)[block] * minute[:, None])
    return np.column_stack(X)


def against_first(candidates, width):
    """Return contrasts of every candidate with the first."""
    k = candidates - 1
    return np.column_stack([-np.ones(k), np.eye(k), np.zeros((k, width - candidates))])


def swap_record(rng, records, swap_sd, counts, lines):
    """Return records of 5 candidates in 3 blocks."""
    candidate = np.concatenate([rng.permutation(5) for _ in range(3)])
    X = columns(candidate, np.repeat(np.arange(3), 5), 5, 3, lines)
    code = np.repeat(np.arange(15), counts(rng))
    Y = swap_sd * rng.standard_normal((15, records))[code]
    Y += READING_SD_DB * rng.standard_normal((code.size, records))
    return Y, X[code], {"swap": code}, against_first(5, X.shape[1])


def lopsided(rng):
    """Return ten readings in three swaps and one or two in the others."""
    counts = rng.integers(1, 3, 15)
    counts[rng.choice(15, 3, replace=False)] = 10
    return counts


COUNTS = {
    "3 readings each": lambda rng: np.full(15, 3),
    "1-3 readings": lambda rng: rng.integers(1, 4, 15),
    "three swaps with 10": lopsided,
}


def swap_cells() -> Iterator[tuple]:
    """Give the cells of swaps: readings, line or not, swap scatter."""
    for name, counts in COUNTS.items():
        for lines in (False, True):
            for swap_sd in (0.0, 0.1, 0.2, 0.5, 1.2):

                def make(rng, records, swap_sd=swap_sd, counts=counts, lines=lines):
                    return swap_record(rng, records, swap_sd, counts, lines)

                yield f"{name}, {'lines' if lines else 'no line'}, swap SD {swap_sd:g}", make


def specimen_record(rng, records, specimen_sd, swap_sd, missing):
    """Return records of 4 candidates with 2 specimens each in 3 blocks, some swaps missing, 2 readings."""
    specimen = np.tile(np.arange(8), 3)
    block = np.repeat(np.arange(3), 8)
    kept = np.setdiff1d(np.arange(24), rng.choice(24, missing, replace=False))
    code = np.repeat(kept, 2)
    X = np.column_stack([np.eye(4)[specimen // 2], np.eye(3)[block][:, 1:]])
    Y = specimen_sd * rng.standard_normal((8, records))[specimen[code]]
    Y += swap_sd * rng.standard_normal((24, records))[code]
    Y += READING_SD_DB * rng.standard_normal((code.size, records))
    return Y, X[code], {"specimen": specimen[code], "swap": code}, against_first(4, X.shape[1])


def specimen_cells() -> Iterator[tuple]:
    """Give the cells of specimens: missing swaps, specimen and swap scatter."""
    for missing in (0, 3):
        for specimen_sd in (0.0, 0.1, 0.3, 0.8):
            for swap_sd in (0.0, 0.3):

                def make(rng, records, a=specimen_sd, b=swap_sd, missing=missing):
                    return specimen_record(rng, records, a, b, missing)

                yield f"4 × 2, {missing} swaps missing, specimen SD {specimen_sd:g}, swap SD {swap_sd:g}", make


def block_record(rng, records, swap_sd, block_sd):
    """Return records of 5 candidates, 4 of them in each of 6 random blocks, 1-3 readings."""
    candidate = np.concatenate([rng.permutation(5)[:4] for _ in range(6)])
    block = np.repeat(np.arange(6), 4)
    code = np.repeat(np.arange(24), rng.integers(1, 4, 24))
    Y = block_sd * rng.standard_normal((6, records))[block[code]] + swap_sd * rng.standard_normal((24, records))[code]
    Y += READING_SD_DB * rng.standard_normal((code.size, records))
    return Y, np.eye(5)[candidate[code]], {"swap": code, "block": block[code]}, against_first(5, 5)


def block_cells() -> Iterator[tuple]:
    """Give the cells of random incomplete blocks."""
    for block_sd in (0.1, 0.6):
        for swap_sd in (0.0, 0.2, 0.5):

            def make(rng, records, a=swap_sd, b=block_sd):
                return block_record(rng, records, a, b)

            yield f"6 blocks of 4 of 5, block SD {block_sd:g}, swap SD {swap_sd:g}", make


if __name__ == "__main__":
    main()
