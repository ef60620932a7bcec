"""Correlations behind covariances: by hand, at the edges, and many at once."""

import numpy as np

from antexp.mixed.correlation import correlation_of


def test_rounding_never_makes_a_correlation_of_more_than_one():
    found = correlation_of(np.array([[4.0, -6.0 - 1e-12], [-6.0 - 1e-12, 9.0]]))
    np.testing.assert_array_equal(found, [[1.0, -1.0], [-1.0, 1.0]])
    np.testing.assert_array_equal(correlation_of(np.array([[4.0, 6.0 + 1e-12], [6.0 + 1e-12, 9.0]])), np.ones((2, 2)))


def test_many_are_each_as_alone_and_what_does_not_vary_goes_with_nothing():
    several = np.array([[[4.0, 3.0], [3.0, 9.0]], [[0.0, 0.0], [0.0, 9.0]]])
    found = correlation_of(several)
    np.testing.assert_array_equal(found, [[[1.0, 0.5], [0.5, 1.0]], np.eye(2)])
    np.testing.assert_array_equal(found, [correlation_of(each) for each in several])
