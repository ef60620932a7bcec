"""Designs that the quick ways do not serve take the slow one, and come to the same answer as single fits."""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed import fit_reml
from antexp.mixed.many_responses import many_responses

SWAPS, READINGS, CANDIDATES = 24, 3, 4


@pytest.fixture(scope="module")
def design():
    """Return X, swap, block, place and levels of six invented records; candidates turn through blocks and places."""
    random = np.random.default_rng(7)
    swap = np.repeat(np.arange(SWAPS), READINGS)
    candidate = np.concatenate([random.permutation(CANDIDATES) for _ in range(SWAPS // CANDIDATES)])[swap]
    block, place = swap // 4, random.permutation(np.arange(SWAPS) % 3)[swap]
    X = np.eye(CANDIDATES)[candidate]
    Y = (random.normal(0, 0.5, (SWAPS, 6))[swap] + random.normal(0, 0.4, (6, 6))[block]
         + random.normal(0, 0.6, (3, 6))[place] + random.normal(0, 0.2, (swap.size, 6)))
    return X, swap, block, place, Y


L = np.column_stack([-np.ones(CANDIDATES - 1), np.eye(CANDIDATES - 1)])


@pytest.mark.parametrize("terms", ["three terms", "two crossed terms"])
def test_terms_without_a_common_form_are_fitted_record_by_record(design, terms):
    X, swap, block, place, Y = design
    groups = {"swap": swap, "block": block, "place": place} if terms == "three terms" else {"block": block,
                                                                                           "place": place}
    found = many_responses(Y, X, groups, L, covariances=True)
    for record in range(Y.shape[1]):
        alone = fit_reml(Y[:, record], X, groups).contrasts(L)
        np.testing.assert_allclose(found.estimates[record], alone.estimates, atol=1e-9)
        np.testing.assert_allclose(found.standard_errors[record], alone.standard_errors, rtol=1e-7)
        np.testing.assert_allclose(found.covariances[record], alone.covariance, atol=1e-9)
    without = many_responses(Y, X, groups, L)
    assert without.covariances is None
    np.testing.assert_allclose(without.standard_errors, found.standard_errors, rtol=1e-9)


def test_codes_of_any_kind_and_range_are_the_same_term(design):
    """Names, numbers far apart and numbers with holes: only which readings share a level counts."""
    X, swap, _, _, Y = design
    plain = fit_reml(Y[:, 0], X, {"swap": swap}).contrasts(L)
    for codes in (swap * 10**9 + 7, swap * 3 + 5, np.array([f"swap {n}" for n in swap]), swap.astype(float) / 3):
        found = fit_reml(Y[:, 0], X, {"swap": codes}).contrasts(L)
        np.testing.assert_allclose(found.estimates, plain.estimates, atol=1e-10)
        np.testing.assert_allclose(found.standard_errors, plain.standard_errors, rtol=1e-9)


def test_a_term_that_is_no_term_is_refused(design):
    X, swap, _, _, Y = design
    hole = np.where(swap == 3, np.nan, swap)
    with pytest.raises(ValueError, match="'swap' has values that are not finite"):
        fit_reml(Y[:, 0], X, {"swap": hole})
    with pytest.raises(ValueError, match=r"'swap' does not fit the readings: got shape \(5,\)"):
        fit_reml(Y[:, 0], X, {"swap": swap[:5]})


def test_one_reading_of_every_swap_and_specimen_has_no_second_term(design):
    """Two terms with a level for every reading are one: what a design cannot tell apart is refused in words."""
    X, swap, _, _, Y = design
    first = np.arange(0, swap.size, READINGS)
    with pytest.raises(ValueError, match="cannot be told apart"):
        many_responses(Y[first], X[first], {"swap": swap[first], "specimen": swap[first]}, L)


@pytest.mark.parametrize("at_zero", ["error line", "keep", "drop"])
def test_records_whose_terms_end_at_zero_come_out_as_single_fits(design, at_zero):
    X, swap, block, _, _ = design
    Y = np.random.default_rng(8).normal(0, 0.3, (swap.size, 8))  # reading scatter alone
    found = many_responses(Y, X, {"swap": swap, "block": block}, L, at_zero=at_zero)
    for record in range(Y.shape[1]):
        alone = fit_reml(Y[:, record], X, {"swap": swap, "block": block}, at_zero=at_zero).contrasts(L)
        np.testing.assert_allclose(found.standard_errors[record], alone.standard_errors, rtol=1e-6)
        np.testing.assert_allclose(found.degrees_of_freedom[record], alone.degrees_of_freedom, rtol=1e-5)
