"""Write cases.json: correlations of our own for which mvtnorm computes probabilities (see probabilities.R).

Run from the repository root: python tests/reference/mvtnorm/make_cases.py
The correlations are those of least-squares contrasts in made-up block designs with a line in each block, and three
that no design has. Levels and degrees of freedom are round numbers, chosen without knowledge of any result.
"""

import json
from pathlib import Path

import numpy as np


def means_covariance(k: int, blocks: int, size: int, seed: int, missing: float) -> np.ndarray:
    """Return the covariance (up to a constant) of the k candidate means; candidate 0 is in every block."""
    rng = np.random.default_rng(seed)
    rows = []
    for block in range(blocks):
        there = np.r_[0, rng.permutation(np.arange(1, k))[:size]]
        for position, candidate in enumerate(there):
            if rng.uniform() < missing:
                continue
            row = np.zeros(k + 2 * blocks)
            row[[candidate, k + block]] = 1.0
            row[k + blocks + block] = position - len(there) / 2
            rows.append(row)
    x = np.array(rows)
    return np.linalg.pinv(x.T @ x)[:k, :k]


def correlation(contrasts: np.ndarray, covariance: np.ndarray) -> list[list[float]]:
    """Return the correlation of the contrasts, rounded to 12 digits so that the file says all of it."""
    v = contrasts @ covariance @ contrasts.T
    se = np.sqrt(np.diag(v))
    r = np.round(v / np.outer(se, se), 12)
    np.fill_diagonal(r, 1.0)
    return r.tolist()


def to_reference(k: int) -> np.ndarray:
    """Return the differences of candidates 1 … k−1 from candidate 0."""
    return np.c_[-np.ones(k - 1), np.eye(k - 1)]


def all_pairs(k: int) -> np.ndarray:
    """Return all differences of k candidates."""
    first, second = np.triu_indices(k, 1)
    return np.eye(k)[first] - np.eye(k)[second]


def main() -> None:
    """Write the cases."""
    lag = np.abs(np.subtract.outer(np.arange(10), np.arange(10)))
    wide = np.random.default_rng(7).normal(size=(10, 14))
    few = np.random.default_rng(8).normal(size=(10, 4))
    drift4 = means_covariance(5, 4, 4, 1, 0.1)
    drift10 = means_covariance(11, 6, 10, 2, 0.1)
    incomplete30 = means_covariance(31, 9, 20, 3, 0.0)
    uneven = np.diag(1.0 / np.array([2.0, 3, 5, 2, 4, 6, 3, 2, 5, 4, 3, 2]))
    cases = {
        "reference 4, lines, missing swaps": (correlation(to_reference(5), drift4), 2, [8, 0]),
        "reference 10, lines, missing swaps": (correlation(to_reference(11), drift10), 2, [20, 0]),
        "reference 10, one-sided": (correlation(to_reference(11), drift10), 1, [20, 0]),
        "reference 30, incomplete blocks": (correlation(to_reference(31), incomplete30), 2, [60]),
        "all pairs of 5, lines, missing swaps": (correlation(all_pairs(5), drift4), 2, [8, 0]),
        "all pairs of 12, unequal repeats": (correlation(all_pairs(12), uneven), 2, [25]),
        "lag 0.9": (np.round(0.9**lag, 12).tolist(), 2, [12, 0]),
        "any ten": (correlation(np.eye(10), wide @ wide.T), 2, [12, 0]),
        "ten of rank four": (correlation(np.eye(10), few @ few.T), 2, [12, 0]),
    }
    written = [
        {"name": name, "sides": sides, "df": df, "levels": [2.0, 2.5, 3.0, 4.0], "correlation": r}
        for name, (r, sides, df) in cases.items()
    ]
    Path(__file__).with_name("cases.json").write_text(json.dumps(written) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
