"""Which can still be the best: an example with printed values, a plain second computation, and coverage."""

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from antexp.mixed.best import compare_with_the_best, limits_by_all_pairs
from antexp.mixed.multivariate_t import critical_value

REFERENCE = Path(__file__).parents[1] / "reference"


def test_four_equally_repeated_candidates_with_dunnetts_table():
    # The value 2.19 for k = 3 comparisons on 20 df is Dunnett's one-sided 5 % point (case C01, digits from memory);
    # the limits are worked by hand from it. Levels 10, 9, 7, 5 with standard error of a difference 1.
    rows = json.loads((REFERENCE / "C01_dunnett_critical_values.json").read_text(encoding="utf-8"))["data"]["rows"]
    d = next(published for sides, k, df, published, _ in rows if (sides, k, df) == ("one", 3, 20))
    best = compare_with_the_best([10.0, 9.0, 7.0, 5.0], 0.5 * np.eye(4), 20)
    table = pytest.approx  # the table has two decimals
    assert best.critical_values[~np.eye(4, dtype=bool)] == table(np.full(12, d), abs=0.006)
    assert best.gap.tolist() == [1.0, -1.0, -3.0, -5.0]
    assert best.rival.tolist() == [1, 0, 0, 0]
    assert best.in_best_set.tolist() == [True, True, False, False]
    assert best.upper == table([1 + d, -1 + d, 0, 0], abs=0.006)
    assert best.lower == table([1 - d, -1 - d, -3 - d, -5 - d], abs=0.006)


def test_a_clear_winner():
    best = compare_with_the_best([10.0, 5.0, 4.0], 0.5 * np.eye(3), 20)
    assert best.in_best_set.tolist() == [True, False, False]
    assert best.lower[0] == 0.0
    assert best.upper[0] > 5.0
    assert np.all(best.upper[1:] == 0.0)
    assert best.p_adjusted[0] > 0.95
    assert np.all(best.p_adjusted[1:] < 0.001)


def test_two_candidates_are_one_one_sided_t():
    best = compare_with_the_best([0.0, 1.5], np.diag([0.3, 0.7]), 7.5)
    d = stats.t.ppf(0.95, 7.5)
    assert best.upper == pytest.approx([max(0, -1.5 + d), 1.5 + d], rel=1e-9)
    assert best.lower == pytest.approx([-1.5 - d, min(0, 1.5 - d)], rel=1e-9)
    assert best.p_adjusted == pytest.approx(stats.t.sf([1.5, -1.5], 7.5), rel=1e-9)


def by_the_words(levels, covariance, df, confidence):
    """Work the definition out candidate by candidate, with loops: a second computation."""
    k = len(levels)
    variance = [[covariance[i][i] + covariance[j][j] - 2 * covariance[i][j] for j in range(k)] for i in range(k)]
    se = np.sqrt(np.maximum(variance, 0.0)).tolist()
    d = []
    for i in range(k):
        contrasts = np.array([np.eye(k)[i] - np.eye(k)[j] for j in range(k) if j != i])
        v = contrasts @ covariance @ contrasts.T
        s = np.sqrt(np.diag(v))
        d.append(critical_value(v / np.outer(s, s), df, confidence, sides=1))
    upper = [max(0.0, min(levels[i] - levels[j] + d[i] * se[i][j] for j in range(k) if j != i)) for i in range(k)]
    stay = [i for i in range(k) if upper[i] > 0]
    lower = []
    for i in range(k):
        if stay == [i]:
            lower.append(0.0)
        else:
            lower.append(min(0.0, min(levels[i] - levels[j] - d[j] * se[i][j] for j in stay if j != i)))
    return lower, upper, stay


@settings(max_examples=15, deadline=None)
@given(
    levels=st.lists(st.floats(-3, 3), min_size=4, max_size=4),
    mixing=st.lists(st.floats(-1, 1), min_size=16, max_size=16),
    df=st.floats(3, 60),
)
def test_against_the_definition_in_loops(levels, mixing, df):
    covariance = np.array(mixing).reshape(4, 4)
    covariance = 0.2 * covariance @ covariance.T + 0.3 * np.eye(4)
    best = compare_with_the_best(levels, covariance, df)
    lower, upper, stay = by_the_words(levels, covariance, df, 0.95)
    assert best.lower == pytest.approx(lower, rel=1e-6, abs=1e-9)
    assert best.upper == pytest.approx(upper, rel=1e-6, abs=1e-6)
    assert np.flatnonzero(best.in_best_set).tolist() == stay
    # p below 0.05 exactly for those that left the set; the highest estimate never leaves.
    assert np.array_equal(best.p_adjusted >= 0.05, best.in_best_set)
    assert best.in_best_set[np.argmax(levels)]
    shifted = compare_with_the_best(np.array(levels) + 40.0, covariance + 2.0, df)
    assert shifted.upper == pytest.approx(best.upper, rel=1e-6, abs=1e-6)


def test_gaps_to_a_reference_serve_as_levels():
    covariance = np.diag([0.2, 0.3, 0.5])
    plain = compare_with_the_best([4.0, 5.0, 3.0], covariance, 12)
    contrasts = np.array([[0, 0, 0], [-1, 1, 0], [-1, 0, 1]])
    from_gaps = compare_with_the_best([0.0, 1.0, -1.0], contrasts @ covariance @ contrasts.T, 12)
    assert from_gaps.lower == pytest.approx(plain.lower, rel=1e-9)
    assert from_gaps.upper == pytest.approx(plain.upper, rel=1e-9)


def test_unequal_degrees_of_freedom_follow_the_rule():
    df = np.full((3, 3), 30.0)
    df[0, 1] = df[1, 0] = 8.0
    best = compare_with_the_best([1.0, 0.5, 0.0], 0.5 * np.eye(3), df)
    assert best.critical_values[0, 1] > best.critical_values[0, 2]  # ratio above 1.5, least above 5
    assert np.array_equal(best.p_adjusted >= 0.05, best.in_best_set)


@pytest.mark.parametrize("means", [[0.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, -2.0], [0.5, 0.0, 0.0, 0.0]])
def test_limits_cover_at_the_stated_confidence(means):
    # Independent of the kernel's integrals: records are simulated and the limits held against the truth.
    repeats, df, records = np.array([4, 3, 3, 2]), 8, 1_000
    means = np.array(means)
    rng = np.random.default_rng(5)
    truth = np.array([means[i] - np.delete(means, i).max() for i in range(4)])
    best_index = np.flatnonzero(means == means.max())
    held = kept = 0
    for _ in range(records):
        levels = rng.normal(means, np.sqrt(1 / repeats))
        best = compare_with_the_best(levels, np.diag(1 / repeats) * rng.chisquare(df) / df, df)
        held += np.all((best.lower <= truth + 1e-12) & (truth <= best.upper + 1e-12))
        kept += best.in_best_set[best_index].all() if len(best_index) == 1 else best.in_best_set[best_index].any()
    # At least 95 %; three Monte Carlo standard errors (0.7 points) below it is chance.
    assert held / records > 0.95 - 3 * np.sqrt(0.05 * 0.95 / records)
    assert kept / records > 0.95 - 3 * np.sqrt(0.05 * 0.95 / records)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: compare_with_the_best([1.0], [[1.0]], 5), r"levels does not fit: got shape \(1,\)"),
        (lambda: compare_with_the_best([1.0, 2.0], np.eye(3), 5), r"covariance does not fit: got shape \(3, 3\)"),
        (lambda: compare_with_the_best([1.0, np.nan], np.eye(2), 5), "not finite"),
        (lambda: compare_with_the_best([1.0, 2.0], np.ones((2, 2)), 5), "variance 0 for candidates 0 and 1"),
        (lambda: compare_with_the_best([1.0, 2.0], np.eye(2), [5.0, 5.0]), r"df does not fit: got shape \(2,\)"),
        (lambda: compare_with_the_best([1.0, 2.0], np.eye(2), 5, 95), "confidence is not a probability"),
        (lambda: compare_with_the_best([1.0, 2.0], np.eye(2), -5.0), "df does not fit"),
    ],
)
def test_arrays_that_do_not_fit_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_limits_of_all_pairs_say_what_they_can_of_the_best():
    """Against the definition in loops: the gap to the best of the others is the smallest of the differences."""
    rng = np.random.default_rng(6)
    middle, half = rng.normal(0, 2, (5, 6)), rng.uniform(0.2, 1.5, (5, 6))
    found = limits_by_all_pairs(middle - half, middle + half)
    pairs = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]
    for record in range(5):
        for one in range(4):
            ends = []
            for (i, j), m, h in zip(pairs, middle[record], half[record], strict=True):
                if one in (i, j):
                    d = m if one == i else -m
                    ends.append((d - h, d + h))
            assert found[0][record, one] == pytest.approx(min(low for low, _ in ends))
            assert found[1][record, one] == pytest.approx(min(high for _, high in ends))


def test_a_pair_without_limits_leaves_both_without():
    lower, upper = limits_by_all_pairs(np.array([0.5, np.nan, -1.0]), np.array([1.5, np.nan, 0.0]))
    assert np.isnan(lower).tolist() == np.isnan(upper).tolist() == [True, False, True]
    assert (lower[1], upper[1]) == (-1.5, -0.5)  # the second against the first alone bounds it
