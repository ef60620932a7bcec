"""Limits of many records of one design against those of each record alone."""

import numpy as np
import pytest

from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import family_critical_values
from antexp.repeats.family_many import critical_many


def records(number, lost):
    """Covariances of four gaps to a reference; a candidate keeps two to four repeats where some were lost."""
    rng = np.random.default_rng(1)
    rows = np.column_stack([-np.ones(4), np.eye(4)])
    repeats = rng.integers(2, 5, (number, 5)) if lost else np.full((number, 5), 4)
    drift = 0.02 * np.cov(rng.normal(size=(5, 12)))
    return np.array([rows @ (np.diag(1.0 / n) + drift) @ rows.T for n in repeats]), rng.uniform(6.0, 12.0, number)


@pytest.mark.parametrize("lost", [False, True])
def test_few_records_are_looked_up(lost):
    covariances, df = records(20, lost)
    freedom = np.repeat(df[:, None], 4, axis=1)
    alone = [family_critical_values(r, own) for r, own in zip(correlation_of(covariances), freedom, strict=True)]
    found = critical_many(covariances, freedom, 0.95, np.full((20, 1), 2.5))
    assert found == pytest.approx(np.array(alone), rel=2e-4)  # a record alone is good to 1e-4 itself


def test_of_many_records_those_near_an_edge_are_looked_up():
    covariances, df = records(400, True)
    freedom = np.repeat(df[:, None], 4, axis=1)
    some = np.arange(0, 400, 40)
    alone = np.array([family_critical_values(correlation_of(covariances)[i], freedom[i]) for i in some])
    found = critical_many(covariances, freedom, 0.95, np.full((400, 1), 99.0))
    assert found[some] == pytest.approx(alone, rel=3e-3)  # the regression's own reach
    edges = np.full((400, 1), 99.0)
    edges[some] = alone[:, :1]
    assert critical_many(covariances, freedom, 0.95, edges)[some] == pytest.approx(alone, rel=2e-4)
