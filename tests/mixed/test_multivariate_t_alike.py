"""Critical values of records that are alike, against those of each record alone and against exact ones."""

import numpy as np
import pytest
from scipy import stats

from antexp.mixed.factor_correlation import all_pairs_contrasts
from antexp.mixed.multivariate_t import critical_value, family_critical_values
from antexp.mixed.multivariate_t_alike import critical_values_alike

RECORDS = 6


def families(kind, candidates, seed=1, scatter=0.02):
    """Correlations of gaps whose candidates have two to five repeats, with drift that ties them together."""
    rng = np.random.default_rng(seed)
    k = candidates
    rows = np.column_stack([-np.ones(k - 1), np.eye(k - 1)]) if kind == "reference" else all_pairs_contrasts(k)
    found = []
    for _ in range(RECORDS):
        means = np.diag(1.0 / rng.integers(2, 6, k)) + scatter * np.cov(rng.normal(size=(k, 2 * k)))
        covariance = rows @ means @ rows.T
        error = np.sqrt(np.diag(covariance))
        found.append(covariance / np.outer(error, error))
    return np.array(found)


@pytest.mark.parametrize("confidence", [0.9, 0.95, 0.99])
@pytest.mark.parametrize(("kind", "candidates"), [("reference", 4), ("reference", 7), ("pairs", 4)])
@pytest.mark.parametrize("unequal", [False, True])
def test_each_record_alone(kind, candidates, confidence, unequal):
    r = families(kind, candidates)
    m, rng = r.shape[1], np.random.default_rng(2)
    df = rng.uniform(5.0, 30.0, (RECORDS, m)) if unequal else np.repeat(rng.uniform(1.2, 20.0, (RECORDS, 1)), m, 1)
    alone = np.array([family_critical_values(one, own, confidence) for one, own in zip(r, df, strict=True)])
    # A record alone is good to 1e-4 itself, all pairs, whose correlation is singular, to two or three of these.
    within = 2e-4 if kind == "reference" else 4e-4
    assert critical_values_alike(r, df, confidence) == pytest.approx(alone, rel=within)


def test_exact_where_one_factor_is_shared():
    """Comparisons with one reference, unequal repeats, no drift (Dunnett 1955): alone they are one integral."""
    r = families("reference", 6, scatter=0.0)
    df = np.repeat(np.linspace(3.0, 40.0, RECORDS)[:, None], 5, axis=1)
    exact = [critical_value(one, own[0]) for one, own in zip(r, df, strict=True)]
    assert critical_values_alike(r, df, 0.95)[:, 0] == pytest.approx(exact, rel=1e-4)


def test_mixed_kinds_and_infinite_df_in_one_call():
    r = families("reference", 4)
    df = np.array([[8.0] * 3, [6.0, 20.0, 40.0], [np.inf] * 3, [4.0, 50.0, 60.0], [5.0, 7.0, 7.4], [9.0, 9.0, 30.0]])
    alone = np.array([family_critical_values(one, own) for one, own in zip(r, df, strict=True)])
    assert critical_values_alike(r, df, 0.95) == pytest.approx(alone, rel=2e-4)


def test_no_record_one_gap_and_many_gaps():
    assert critical_values_alike(np.empty((0, 3, 3)), np.empty((0, 3)), 0.95).shape == (0, 3)
    one = critical_values_alike(np.ones((2, 1, 1)), np.array([[5.0], [9.0]]), 0.95)
    assert one[:, 0] == pytest.approx(stats.t.ppf(0.975, [5.0, 9.0]))
    equal = np.full((16, 16), 0.5) + 0.5 * np.eye(16)
    many = critical_values_alike(equal[None], np.full((1, 16), 9.0), 0.95)
    assert many[0, 0] == pytest.approx(critical_value(equal, 9.0))
