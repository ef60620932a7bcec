"""Correlations of gaps, and gaps without any error."""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed.contrasts import ContrastSet
from antexp.mixed.many_responses import many_responses
from antexp.mixed.reml import fit_reml


def test_the_correlation_has_a_unit_diagonal_even_where_a_gap_has_no_error():
    covariance = np.array([[4.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 0.0]])
    errors = np.sqrt(np.diag(covariance))
    found = ContrastSet(np.zeros(3), covariance, errors, np.full(3, 9.0), ("", "", "no scatter"))
    np.testing.assert_array_equal(found.correlation, [[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]])


@pytest.mark.parametrize("unit", [1e-6, 1e6])
def test_the_joint_test_knows_no_unit(swap_record, unit):
    y, X, code = swap_record(3)
    rows = np.eye(X.shape[1])[1:4] - np.eye(X.shape[1])[0]
    ours = fit_reml(y, X, {"swap": code}).joint_test(rows)
    theirs = fit_reml(unit * y, X, {"swap": code}).joint_test(rows)
    assert ours.numerator_df == theirs.numerator_df == 3
    assert theirs.f_statistic == pytest.approx(ours.f_statistic, rel=1e-5)
    assert theirs.denominator_df == pytest.approx(ours.denominator_df, rel=1e-5)


def test_a_record_that_leaves_one_degree_of_freedom_gives_every_gap_its_limits():
    """Four swaps of three wires, read alike often: the analysis of variance of swap means (any textbook) has 4 − 3 = 1.

    Rounding to 1 − 1e-16 once took the limits from one of two gaps, and the other's then allowed for one gap only.
    """
    swap, wire = np.repeat(np.arange(4), 3), np.repeat([0, 1, 2, 0], 3)
    X = (wire[:, None] == np.arange(3)).astype(float)
    rows = np.array([[-1.0, 1.0, 0.0], [-1.0, 0.0, 1.0]])
    rng = np.random.default_rng(4)
    records = rng.normal(0.0, 0.5, (4, 40))[swap] + rng.normal(0.0, 0.3, (12, 40))
    for y in records.T:
        found = fit_reml(y, X, {"swap": swap}).contrasts(rows)
        assert found.no_interval == ("", "")
        np.testing.assert_array_equal(found.degrees_of_freedom, [1.0, 1.0])
    many = many_responses(records, X, {"swap": swap}, rows)
    assert not many.no_interval.any()
    np.testing.assert_array_equal(many.degrees_of_freedom, np.ones((40, 2)))
