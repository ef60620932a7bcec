"""Independent columns, from X and from XᵀX alone, whatever the units of the columns; numpy's rank and null space."""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed.fixed_part import factor_columns, factor_gram

UNITS = [np.ones(6), np.array([1.0, 1e-8, 1e6, 1.0, 1e-5, 1e3])]


def columns(units):
    """Four independent columns, a sum of two of them, and a difference of three."""
    own = np.random.default_rng(7).normal(size=(30, 4)) + 2.0
    return np.column_stack([own, own[:, 0] + own[:, 1], own[:, 1] - own[:, 2] + 0.5 * own[:, 3]]) * units


def both(X):
    return [factor_columns(X)[1], factor_gram(X.T @ X)]


@pytest.mark.parametrize("units", UNITS, ids=["one unit", "many units"])
def test_sums_of_others_are_found_in_any_units(units):
    X = columns(units)
    for found in both(X):
        assert found.rank == 4 and len(found.aliased) == 2
        assert sorted([*found.kept, *found.aliased]) == list(range(6))
        assert np.linalg.matrix_rank((X / units)[:, found.kept]) == 4
        orthonormal = X[:, found.kept] @ found.inverse
        np.testing.assert_allclose(orthonormal.T @ orthonormal, np.eye(4), atol=1e-7)
        np.testing.assert_allclose(np.linalg.norm(found.null_space, axis=0), 1.0)
        # what X makes of the null space is rounding beside what it makes of its parts
        parts = np.abs(X).max(axis=0) @ np.abs(found.null_space)
        assert np.all(np.abs(X @ found.null_space).max(axis=0) < 1e-7 * parts)


def test_nearly_dependent_columns_stay_and_equal_ones_go():
    random = np.random.default_rng(3)
    one, other, third, fourth = random.normal(size=(4, 40))
    X = np.column_stack([one, one + 1e-4 * other, third, fourth])
    assert [found.rank for found in both(X)] == [4, 4]
    X = np.column_stack([one, one / 3.0, third, one + third])
    assert [found.rank for found in both(X)] == [2, 2]


def test_an_empty_column_is_set_aside():
    X = np.column_stack([np.ones(5), np.zeros(5), np.arange(5.0)])
    for found in both(X):
        assert found.aliased.tolist() == [1]
        np.testing.assert_allclose(np.abs(found.null_space[:, 0]), [0.0, 1.0, 0.0])


@pytest.mark.parametrize("size", [1e-9, 1.0, 1e9])
def test_whether_a_contrast_can_be_told_does_not_depend_on_its_size(size):
    X = np.column_stack([np.eye(3).repeat(4, axis=0), np.ones(12)])
    for found in both(X):
        found.check_estimable(size * np.array([[1.0, -1.0, 0.0, 0.0], [0.0, 0.0, 1.0, 1.0]]))
        with pytest.raises(ValueError, match="contrast row 1 asks for what they share"):
            found.check_estimable(size * np.array([[1.0, -1.0, 0.0, 0.0], [1.0, 0.0, 0.0, 0.0]]))


def test_a_column_in_tiny_units_that_no_other_carries_stays_beside_a_repeated_one():
    own = np.random.default_rng(3).normal(size=(20, 2))
    X = np.column_stack([own[:, 0] * 1e-7, own[:, 1], own[:, 1]])
    for found in both(X):
        assert found.rank == 2 and 0 in found.kept and len(found.aliased) == 1
