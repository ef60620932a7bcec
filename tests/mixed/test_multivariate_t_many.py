"""Many records at once give what each gives alone."""

import numpy as np
import pytest

from antexp.mixed.multivariate_t import critical_value, critical_values_many, family_critical_values


def equal(m, rho=0.5):
    return np.full((m, m), rho) + (1 - rho) * np.eye(m)


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize(("low", "high"), [(0.3, 4.0), (1.0, 900.0), (11.0, 13.0), (20.0, np.inf)])
def test_real_degrees_of_freedom(sides, low, high):
    df = 1.0 / np.random.default_rng(1).uniform(1 / high, 1 / low, 3_000)
    many = critical_values_many(equal(6), df, 0.95, sides)
    for record in range(0, 3_000, 150):
        assert many[record] == pytest.approx(critical_value(equal(6), df[record], 0.95, sides), rel=1e-5)


def test_few_distinct_degrees_of_freedom_are_not_interpolated():
    df = np.array([12.0, np.inf, 12.0, 7.5])
    assert critical_values_many(equal(4), df).tolist() == [critical_value(equal(4), value) for value in df]


def test_unequal_degrees_of_freedom_of_each_record():
    df = np.random.default_rng(2).uniform(3.0, 40.0, (2_000, 5))
    df[:400] = df[:400, :1] * np.linspace(1.0, 1.4, 5)
    many = critical_values_many(equal(5), df)
    alone = np.array([family_critical_values(equal(5), row) for row in df[::50]])
    assert many[::50] == pytest.approx(alone, rel=1e-6)
    assert 0.05 < np.mean(np.ptp(many, axis=1) > 0) < 0.95  # both branches of the rule were met


def test_a_correlation_for_each_record():
    rho = np.where(np.arange(60) % 3 == 0, 0.2, 0.5)
    df = np.linspace(4, 30, 60)
    many = critical_values_many(np.array([equal(3, r) for r in rho]), df)
    alone = [critical_value(equal(3, r), value) for r, value in zip(rho, df, strict=True)]
    assert many == pytest.approx(alone, rel=1e-6)


def test_records_without_df_stay_so():
    many = critical_values_many(equal(2), [[9.0, np.nan], [9.0, 9.0]])
    assert np.isnan(many[0]).all()
    assert many[1] == pytest.approx(critical_value(equal(2), 9.0), rel=1e-12)


def test_a_negative_critical_value():
    df = np.linspace(2, 50, 100)
    many = critical_values_many(equal(2), df, confidence=0.1, sides=1)
    assert many[7] < 0
    assert many[7] == pytest.approx(critical_value(equal(2), df[7], 0.1, 1), rel=1e-6)


def test_degrees_of_freedom_that_do_not_fit_are_refused_in_words():
    with pytest.raises(ValueError, match=r"df does not fit: got shape \(4, 3\); allowed \(n,\) or \(n, 2\)"):
        critical_values_many(equal(2), np.ones((4, 3)))
    with pytest.raises(ValueError, match=r"df does not fit: got shape \(4,\); allowed \(3,\)"):
        critical_values_many(np.array([equal(2)] * 3), np.ones(4))
    with pytest.raises(ValueError, match="got 2 such records, the first 0, 2"):
        critical_values_many(equal(2), [-1.0, 3.0, 0.0])


def test_records_of_which_nothing_is_known_leave_the_others_alone():
    """One correlation belongs to no record whose degrees of freedom are known."""
    matrices = np.stack([np.full((3, 3), rho) + (1 - rho) * np.eye(3) for rho in (0.5, 0.2, 0.5)])
    found = critical_values_many(matrices, [9.0, np.nan, 14.0])
    alone = critical_values_many(matrices[[0, 2]], [9.0, 14.0])
    assert np.isnan(found[1]) and found[[0, 2]] == pytest.approx(alone, rel=1e-6)
