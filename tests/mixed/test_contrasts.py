"""Correlations of gaps, and gaps without any error."""

from __future__ import annotations

import numpy as np

from antexp.mixed.contrasts import ContrastSet


def test_the_correlation_has_a_unit_diagonal_even_where_a_gap_has_no_error():
    covariance = np.array([[4.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 0.0]])
    errors = np.sqrt(np.diag(covariance))
    found = ContrastSet(np.zeros(3), covariance, errors, np.full(3, 9.0), ("", "", "no scatter"))
    np.testing.assert_array_equal(found.correlation, [[1.0, 0.5, 0.0], [0.5, 1.0, 0.0], [0.0, 0.0, 1.0]])
