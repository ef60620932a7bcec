"""The three tables of a fit."""

import numpy as np
import pytest

from antexp.mixed import fit_reml
from antexp.mixed.fit_tables import coefficient_table, fit_table, reading_table


def test_one_row_a_coefficient(swap_record):
    y, X, code = swap_record(0)
    fit = fit_reml(y, np.column_stack([X, X[:, 0]]), {"swap": code})
    table = coefficient_table(fit, [f"c{i}" for i in range(10)])
    assert [len(column) for column in table.values()] == [10] * 5
    one = fit.contrast(np.eye(10)[2])
    assert (table["column"][2], table["estimate_db"][2]) == ("c2", one.estimate)
    assert table["standard_error_db"][2] == one.standard_error
    assert table["degrees_of_freedom"][2] == one.degrees_of_freedom
    assert table["caution"][0] == table["caution"][9] == "cannot be estimated: aliased with other columns"
    assert table["caution"][2] == ""
    with pytest.raises(ValueError, match=r"names do not fit: got 2; allowed 10"):
        coefficient_table(fit, ["a", "b"])


def test_one_row_for_the_fit(swap_record):
    y, X, code = swap_record(0)
    fit = fit_reml(y, X, {"swap": code})
    table = fit_table(fit)
    assert {len(column) for column in table.values()} == {1}
    assert table["swap_sd_db"][0] ** 2 == pytest.approx(fit.variances["swap"])
    assert (table["readings"], table["fixed_columns"], table["swap_levels"]) == ([36], [9], [12])
    assert table["converged"] == [True] and table["caution"] == [""]


def test_one_row_a_reading(swap_record):
    """Predicted effects are those of the textbook formula σᵢ²ZᵢᵀV⁻¹(y − Xβ̂) (Henderson 1975), formed n × n."""
    y, X, code = swap_record(3, readings=[1, 4, 2] * 4)
    specimen = np.random.default_rng(0).integers(0, 5, 12)[code]
    groups = {"swap": code, "specimen": specimen}
    fit = fit_reml(y, X, groups)
    table = reading_table(fit, y, X, groups)
    G = {n: np.equal.outer(c, c) for n, c in groups.items()}
    V = sum(fit.variances[n] * g for n, g in G.items()) + fit.residual_variance * np.eye(y.size)
    weighted = np.linalg.solve(V, y - X @ fit.coefficients)
    expected = sum(fit.variances[n] * (g @ weighted) for n, g in G.items())
    np.testing.assert_allclose(table["random_db"], expected, atol=1e-9)
    np.testing.assert_allclose(table["fixed_db"], X @ fit.coefficients, atol=1e-9)
    np.testing.assert_allclose(table["residual_db"], fit.residual_variance * weighted, atol=1e-9)


def test_readings_of_a_record_without_noise(swap_record):
    y, X, code = swap_record(4, reading_sd=0.0, readings=[1, 4, 2] * 4, level=-70.0)
    table = reading_table(fit_reml(y, X, {"swap": code}), y, X, {"swap": code})
    np.testing.assert_allclose(table["residual_db"], 0.0, atol=1e-9)
    single, X1, code1 = swap_record(4, readings=1)
    table = reading_table(fit_reml(single, X1, {"swap": code1}), single, X1, {"swap": code1})
    assert (table["random_db"] == 0).all() and np.abs(table["residual_db"]).max() > 0.01
