"""What may be said against the best of the others, for many records."""

import numpy as np
import pytest

from antexp.mixed.best import compare_with_the_best
from antexp.repeats.best_many import best_limits

DF, HANGINGS, RECORDS, MATTER_DB = 12, 5, 4000, 1.0
# three Monte Carlo errors of a rate of 5 % above it
MOST = 0.05 + 3 * (0.05 * 0.95 / RECORDS) ** 0.5


def judged(level_db, seed=3):
    """Judge balanced records of so many candidates."""
    random = np.random.default_rng(seed)
    k = len(level_db)
    i, j = np.triu_indices(k, 1)
    contrast = np.eye(k)[i] - np.eye(k)[j]
    scatter = random.chisquare(DF, RECORDS) / DF
    level = np.asarray(level_db) + random.standard_normal((RECORDS, k)) / HANGINGS**0.5
    covariance = scatter[:, None, None] * (contrast @ contrast.T) / HANGINGS
    return level, scatter, best_limits(level @ contrast.T, covariance, np.full((RECORDS, len(i)), float(DF)),
                                       np.ones(RECORDS, bool), 0.95, MATTER_DB)


@pytest.mark.parametrize("wires", [3, 5])
def test_equal_wires_are_seldom_called_really_weaker(wires):
    """Leaving the best set alone would be wrong in one day of eight to one of five."""
    _, _, (_, _, upper, verdict) = judged([0.0] * wires)
    assert np.char.startswith(verdict, "real").any(axis=1).mean() < MOST
    assert (upper <= 0).any(axis=1).mean() > 0.1


@pytest.mark.parametrize("level_db", [[1.0, 0.0, 0.0], [0.0, 0.0, -1.0, -1.0], [2.0, 0.0, 0.0, 0.0]])
def test_all_verdicts_hold_together(level_db):
    _, _, (_, lower, upper, verdict) = judged(level_db)
    truth = np.array([own - max(level_db[:i] + level_db[i + 1:]) for i, own in enumerate(level_db)])
    real = np.char.startswith(verdict, "real")
    small = np.isin(verdict, ["no gap that matters", "real but too small to matter"])
    wrong = (real & (truth == 0)) | (small & (np.abs(truth) >= MATTER_DB))
    wrong |= (verdict == "real and it matters") & (np.abs(truth) < MATTER_DB)
    assert wrong.any(axis=1).mean() < MOST
    missed = (lower > truth + 1e-12) | (upper < truth - 1e-12)
    assert missed.any(axis=1).mean() < MOST


def test_limits_are_those_of_one_record():
    level, scatter, (gap, lower, upper, _) = judged([0.0, 0.3, -0.4])
    for record in (0, 17):
        found = compare_with_the_best(level[record], np.eye(3) * scatter[record] / HANGINGS, DF)
        assert gap[record] == pytest.approx(found.gap)
        # the critical value is looked up to a part in a thousand of the limit's width
        assert lower[record] == pytest.approx(found.lower, abs=2e-3)
        assert upper[record] == pytest.approx(found.upper, abs=2e-3)
