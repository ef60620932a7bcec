"""What a record cannot tell is refused, or its inference withheld, in words."""

import numpy as np
import pytest

from antexp.mixed import fit_reml


def test_a_contrast_that_cannot_be_estimated(swap_record):
    y, X, code = swap_record(0)
    wide = np.column_stack([X, X[:, 0] + X[:, 1]])
    fit = fit_reml(y, wide, {"swap": code})
    row = np.zeros(wide.shape[1])
    row[0] = 1.0
    with pytest.raises(ValueError, match=r"rank check of X: 9 of 10 columns are independent"):
        fit.contrast(row)
    row[:] = 0.0
    row[2:4] = 1.0, -1.0
    assert fit.contrast(row).estimate == pytest.approx(fit_reml(y, X, {"swap": code}).contrast(row[:-1]).estimate)
    assert len(fit.aliased) == 1 and np.isnan(fit.coefficients[list(fit.aliased)]).all()


def test_one_reading_a_swap_is_one_number(swap_record):
    y, X, code = swap_record(0, readings=1)
    fit = fit_reml(y, X, {"swap": code})
    plain = fit_reml(y, X, {})
    assert fit.one_number == ("swap", "reading") and np.isnan(fit.residual_variance)
    assert fit.variances["swap"] == pytest.approx(plain.residual_variance)
    row = np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0]
    assert fit.contrast(row) == plain.contrast(row)
    assert fit.contrast(row).degrees_of_freedom == pytest.approx(12 - X.shape[1])


@pytest.mark.parametrize("noise", [0.0, 1e-9])
def test_no_reading_noise_fits_the_swap_means(swap_record, noise):
    y, X, code = swap_record(4, readings=[1, 5, 2, 3] * 3, reading_sd=0.0)
    y = y + noise * np.random.default_rng(1).normal(size=y.size)
    fit = fit_reml(y, X, {"swap": code})
    first = np.unique(code, return_index=True)[1]
    plain = fit_reml(y[first], X[first], {})
    row = np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0]
    assert fit.on_means == "swap" and fit.residual_variance == 0.0
    assert fit.variances["swap"] == pytest.approx(plain.residual_variance, rel=1e-7)
    assert fit.contrast(row).standard_error == pytest.approx(plain.contrast(row).standard_error, rel=1e-7)
    assert fit.contrast(row).degrees_of_freedom == pytest.approx(12 - X.shape[1])


def test_small_reading_noise_is_still_a_component(swap_record):
    """A reading SD of a ten-thousandth of the swap SD: swap means decide, and no digit is lost on the way."""
    y, X, code = swap_record(4, readings=[1, 5, 2, 3] * 3, reading_sd=5e-5)
    fit = fit_reml(y, X, {"swap": code})
    assert fit.on_means == ""
    assert np.sqrt(fit.residual_variance) == pytest.approx(5e-5, rel=0.5)
    means = np.bincount(code, y) / np.bincount(code)
    plain = fit_reml(means, X[np.unique(code, return_index=True)[1]], {})
    row = np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0]
    assert fit.contrast(row).standard_error == pytest.approx(plain.contrast(row).standard_error, rel=1e-6)


def test_arguments_that_do_not_fit_are_refused_in_words(swap_record):
    y, X, code = swap_record(0)
    with pytest.raises(ValueError, match=r"at_zero is unknown: got 'never'; allowed: error line, keep, drop"):
        fit_reml(y, X, {"swap": code}, at_zero="never")
    with pytest.raises(ValueError, match=r"must be finite: got 2 rows that are not, the first at row 3, 7"):
        fit_reml(np.where(np.isin(np.arange(y.size), (3, 7)), np.nan, y), X, {"swap": code})
    with pytest.raises(ValueError, match=r"random term 'swap' does not fit the readings: got shape \(35,\)"):
        fit_reml(y, X, {"swap": code[1:]})
    with pytest.raises(ValueError, match=r"got shapes \(35,\) and \(36, 9\)"):
        fit_reml(y[1:], X, {"swap": code})
    with pytest.raises(ValueError, match=r"no reading is left over to judge the scatter by: 9 readings, 9 fixed"):
        fit_reml(y[:27:3], np.eye(9), {})
    with pytest.raises(ValueError, match=r"'block' cannot be estimated: the fixed columns account for all"):
        fit_reml(y, X, {"swap": code, "block": code // 4})
    with pytest.raises(ValueError, match=r"'swap' and 'specimen' cannot be told apart"):
        fit_reml(y, X, {"swap": code, "specimen": 100 - code})
    with pytest.raises(ValueError, match=r"'swap' and 'specimen' cannot be told apart: every level of each has one"):
        fit_reml(y, X, {"swap": np.arange(36), "specimen": np.arange(36)[::-1]})
    with pytest.raises(ValueError, match=r"'swap' cannot be estimated"):
        fit_reml(y, np.eye(12)[code], {"swap": code})
    fit = fit_reml(y, X, {"swap": code})
    with pytest.raises(ValueError, match=r"contrasts do not fit X: got shape \(1, 3\); allowed \(m, 9\)"):
        fit.contrast([1.0, -1.0, 0.0])
    with pytest.raises(ValueError, match=r"method is unknown: got 'wald'; allowed: kenward-roger, satterthwaite"):
        fit.contrast(np.eye(9)[0], method="wald")


def test_levels_without_scatter_get_no_interval(swap_record):
    _, X, code = swap_record(0)
    fit = fit_reml(np.full(code.size, -70.0), X, {"swap": code})
    assert fit.no_interval == "the levels do not scatter at all about the fixed part"
    row = np.eye(X.shape[1])[1] - np.eye(X.shape[1])[0]
    assert fit.contrast(row).estimate == pytest.approx(0.0, abs=1e-10)
    assert fit.contrast(row).no_interval == fit.no_interval
