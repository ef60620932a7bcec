"""fit_reml against outside references, other software and exact analyses of variance."""

import numpy as np
import pytest

from antexp.mixed import fit_reml

# Packages stop their search at some 1e-5 of a standard deviation; the high-precision values of the cases, computed
# with more steps by the makers of the cases, are met far more closely.
RELATIVE = 1e-9


def terms_of(name, case):
    """Model of each reference case as X and groups; the names of groups are those of the case's `sd`."""
    c = case(name)
    if name == "A02_gum_h5_zener":
        return c, c["voltage_uV"], c.design(), {"day": c["day"]}
    if name in ("A03_dyestuff", "A04_dyestuff2_boundary"):
        return c, c["Yield"], c.design(), {"Batch": c["Batch"]}
    if name == "A05_pastes_nested":
        return c, c["strength"], c.design(), {"batch": c["batch"], "batch:cask": c["sample"]}
    if name == "A06_penicillin_crossed":
        return c, c["diameter"], c.design(), {"plate": c["plate"], "sample": c["sample"]}
    if name == "A09_ergostool":
        return c, c["effort"], c.design("Type"), {"Subject": c["Subject"]}
    if name == "A10_machines_interaction":
        pair = c.pair("Worker", "Machine")
        return c, c["score"], c.design("Machine"), {"Worker": c["Worker"], "Worker:Machine": pair}
    assert name == "A12_beets_KR"
    return c, c["sugpct"], c.design("block", "sow", "harvest"), {"block:harvest": c.pair("block", "harvest")}


CASES = [
    "A02_gum_h5_zener",  # JCGM 100:2008 annex H.5, table H.9; from memory, confirmed; computed with R (lme4, pbkrtest)
    "A03_dyestuff",  # Davies & Goldsmith 1972; Bates et al. 2015, J. Stat. Softw. 67(1); published + computed with R
    "A04_dyestuff2_boundary",  # Box & Tiao 1973, variance at zero; published + computed with R
    "A05_pastes_nested",  # Davies & Goldsmith 1972, nested; published + computed with R
    "A06_penicillin_crossed",  # Davies & Goldsmith 1972, crossed; published + computed with R
    "A09_ergostool",  # Pinheiro & Bates 2000; published from memory, confirmed + computed with R
    "A10_machines_interaction",  # Milliken & Johnson 1992; Pinheiro & Bates 2000, 1.3; published + computed with R
    "A12_beets_KR",  # Halekoh & Højsgaard 2014, J. Stat. Softw. 59(9); published from memory + computed with R
]


@pytest.mark.parametrize("name", CASES)
def test_outside_spreads_and_likelihood(name, case):
    c, y, X, groups = terms_of(name, case)
    fit = fit_reml(y, X, groups, at_zero="keep")
    for group in groups:
        assert np.sqrt(fit.variances[group]) == pytest.approx(c.precise["sd"][group], rel=RELATIVE, abs=1e-12)
    assert np.sqrt(fit.residual_variance) == pytest.approx(c.precise["sd"]["residual"], rel=RELATIVE)
    assert fit.restricted_log_likelihood == pytest.approx(c.precise["loglik_invariant"], abs=1e-9)
    assert fit.history.converged


@pytest.mark.parametrize("name", CASES)
def test_outside_contrasts(name, case):
    c, y, X, groups = terms_of(name, case)
    fit = fit_reml(y, X, groups, at_zero="keep")
    rows = np.eye(X.shape[1])
    inside = not fit.at_zero
    for row, expected in zip(rows, c.precise["contrasts"], strict=True):
        found, other = fit.contrast(row), fit.contrast(row, method="satterthwaite")
        assert found.estimate == pytest.approx(expected["estimate"], rel=1e-9, abs=1e-9)
        assert found.standard_error == pytest.approx(expected["se_kr"], rel=1e-8)
        assert found.degrees_of_freedom == pytest.approx(expected["df_kr"], rel=1e-8)
        assert other.standard_error == pytest.approx(expected["se_unadjusted"], rel=1e-8)
        if inside:
            assert other.degrees_of_freedom == pytest.approx(expected["df_satt_observed_info"], rel=1e-7)


def test_outside_certified_anova(case):
    """NIST StRD SiRstv (certified): one-way analysis of variance, as joint test and as variance components."""
    c = case("A01_strd_SiRstv")
    certified, components = c.expected["certified"], c.expected["anova_variance_components"]
    X = c.design("group")
    fixed = fit_reml(c["y"], X, {})
    test = fixed.joint_test(np.eye(5)[1:])
    assert test.f_statistic == pytest.approx(certified["F"], rel=1e-10)
    assert (test.numerator_df, test.denominator_df) == (4, pytest.approx(20))
    assert np.sqrt(fixed.residual_variance) == pytest.approx(certified["residual_sd"], rel=1e-10)
    random = fit_reml(c["y"], X[:, :1], {"group": c["group"]})
    assert random.variances["group"] == pytest.approx(components["var_between"], rel=1e-8)
    assert np.sqrt(random.residual_variance) == pytest.approx(components["sd_within"], rel=1e-9)


def test_outside_plain_comparisons_with_a_control(case):
    """Dunnett 1955, blood counts (published data, computed with R): no random term, unequal groups."""
    c = case("C18_dunnett1955_blood")
    X = np.column_stack([c["group"] == g for g in ("control", "A", "B")]).astype(float)
    fit = fit_reml(c["count"], X, {})
    found, expected = fit.contrasts([[-1.0, 1, 0], [-1.0, 0, 1]]), c.expected
    assert np.sqrt(fit.residual_variance) == pytest.approx(expected["sigma"], rel=1e-9)
    np.testing.assert_allclose(found.estimates, expected["differences"], rtol=1e-9)
    np.testing.assert_allclose(found.standard_errors, expected["se"], rtol=1e-9)
    np.testing.assert_allclose(found.degrees_of_freedom, expected["df"], rtol=1e-9)
    assert found.correlation[0, 1] == pytest.approx(expected["rho"], rel=1e-9)


def test_outside_scaled_f(case):
    """Halekoh & Højsgaard 2014, J. Stat. Softw. 59(9): F(4, 20) = 101 and F(1, 2) = 15.21."""
    c, y, X, groups = terms_of("A12_beets_KR", case)
    fit = fit_reml(y, X, groups)
    for rows, key in ((np.eye(8)[3:7], "KR_sow"), (np.eye(8)[7:], "KR_harvest")):
        test, expected = fit.joint_test(rows), c.expected[key]
        assert test.f_statistic == pytest.approx(expected["Fstat"], rel=1e-6)  # R's own search stops there
        assert test.denominator_df == pytest.approx(expected["ddf"], rel=1e-6)
        assert test.numerator_df == expected["ndf"]
        assert test.p_value == pytest.approx(expected["p.value"], rel=1e-5)


def test_outside_component_at_zero(case):
    """Dyestuff2 (Box & Tiao 1973): kept df 5, dropped df 29; the error line is the batches' own mean square."""
    c, y, X, groups = terms_of("A04_dyestuff2_boundary", case)
    kept, dropped = fit_reml(y, X, groups, at_zero="keep"), fit_reml(y, X, groups, at_zero="drop")
    ruled = fit_reml(y, X, groups)
    assert kept.at_zero == dropped.at_zero == ruled.at_zero == ("Batch",)
    assert kept.contrast([1.0]).degrees_of_freedom == pytest.approx(5.0)
    assert dropped.contrast([1.0]).degrees_of_freedom == pytest.approx(29.0)
    assert dropped.contrast([1.0]).standard_error == pytest.approx(c.expected["se_mean_if_component_dropped"])
    own = ruled.contrast([1.0])
    assert ruled.error_line_rule and not kept.error_line_rule and not dropped.error_line_rule
    assert own.degrees_of_freedom == pytest.approx(5.0)
    assert own.standard_error == pytest.approx(np.sqrt(c.expected["anova"]["MS_batch"] / 30))
    assert ruled.restricted_log_likelihood == kept.restricted_log_likelihood


@pytest.mark.parametrize("swap_sd", [0.0, 0.5])
@pytest.mark.parametrize("seed", range(4))
def test_balanced_is_the_anova_of_swap_means(swap_record, swap_sd, seed):
    """Balanced readings, whatever the spreads: ordinary least squares of the swap means, by statsmodels OLS."""
    import statsmodels.api as sm

    y, X, code = swap_record(seed, swap_sd=swap_sd, reading_sd=0.6)
    means = np.bincount(code, y) / np.bincount(code)
    first = np.unique(code, return_index=True)[1]
    ols = sm.OLS(means, X[first]).fit()
    gap = np.zeros(X.shape[1])
    gap[:2] = -1.0, 1.0
    found, exact = fit_reml(y, X, {"swap": code}).contrast(gap), ols.t_test(gap)
    assert found.estimate == pytest.approx(float(exact.effect[0]), abs=1e-10)
    assert found.standard_error == pytest.approx(float(exact.sd[0, 0]), rel=1e-8)
    assert found.degrees_of_freedom == pytest.approx(exact.df_denom, rel=1e-8)


@pytest.mark.parametrize("seed", range(5))
def test_outside_statsmodels(swap_record, seed):
    """statsmodels MixedLM (REML, Powell): spreads, gaps and, away from zero, its unadjusted errors."""
    import warnings

    import statsmodels.api as sm

    y, X, code = swap_record(seed, candidates=6, blocks=4, readings=[1, 4, 2, 3] * 6, lost=(3, 11), swap_sd=0.8)
    with warnings.catch_warnings():  # it warns of its own boundary, which is not under test
        warnings.simplefilter("ignore")
        other = sm.MixedLM(y, X, groups=code).fit(method="powell", reml=True, xtol=1e-10, ftol=1e-12)
    fit = fit_reml(y, X, {"swap": code})
    assert other.converged and not fit.at_zero
    assert fit.variances["swap"] == pytest.approx(float(other.cov_re[0, 0]), rel=1e-5)
    assert fit.residual_variance == pytest.approx(other.scale, rel=1e-5)
    np.testing.assert_allclose(fit.coefficients, other.fe_params, atol=1e-6)
    for row in np.eye(X.shape[1])[:6]:
        error = fit.contrast(row, method="satterthwaite").standard_error
        # Its errors come from a numerical Hessian that holds the spread too: a few parts in a thousand.
        assert error == pytest.approx(float(np.sqrt(row @ other.cov_params()[: row.size, : row.size] @ row)), rel=5e-3)


def test_level_of_any_size_is_taken_off(swap_record):
    """Away from zero by 1e6 dB the levels themselves keep some 1e-10 dB; nothing more may be lost."""
    y, X, code = swap_record(1)
    near, far = fit_reml(y, X, {"swap": code}), fit_reml(y + 1e6, X, {"swap": code})
    gap = np.zeros(X.shape[1])
    gap[:2] = -1.0, 1.0
    assert far.variances["swap"] == pytest.approx(near.variances["swap"], rel=1e-7)
    assert far.contrast(gap).estimate == pytest.approx(near.contrast(gap).estimate, abs=1e-8)
    np.testing.assert_allclose(far.coefficients[:4] - 1e6, near.coefficients[:4], atol=1e-8)
    assert far.restricted_log_likelihood == pytest.approx(near.restricted_log_likelihood, abs=1e-6)


def test_likelihood_does_not_depend_on_the_coding(swap_record):
    y, X, code = swap_record(2)
    turned = X @ np.random.default_rng(5).normal(size=(X.shape[1], X.shape[1]))
    one, other = fit_reml(y, X, {"swap": code}), fit_reml(y, turned, {"swap": code})
    assert other.restricted_log_likelihood == pytest.approx(one.restricted_log_likelihood, abs=1e-8)


def test_without_a_constant_the_level_is_kept():
    """A fixed part that cannot carry a constant: statistics of the plain textbook formula."""
    rng = np.random.default_rng(3)
    x, code = rng.normal(size=40), np.repeat(np.arange(10), 4)
    y = 5.0 + 2.0 * x + rng.normal(size=10)[code] + rng.normal(size=40)
    fit = fit_reml(y, x[:, None], {"swap": code})
    V = fit.variances["swap"] * (code[:, None] == code) + fit.residual_variance * np.eye(40)
    weight = np.linalg.solve(V, x)
    assert fit.coefficients[0] == pytest.approx(weight @ y / (weight @ x), rel=1e-9)


def test_history_tells_how_it_went(swap_record):
    y, X, code = swap_record(1)
    fit = fit_reml(y, X, {"swap": code})
    history = fit.history
    assert history.names == ("swap",) and history.converged and history.evaluations > history.steps > 0
    assert all(b <= a + 1e-9 for a, b in zip(history.path, history.path[1:], strict=False))
    assert fit.variances["swap"] == pytest.approx(history.end[0] * fit.residual_variance)
    assert abs(history.gradient[0]) < 1e-6
    again = fit_reml(y, X, {"swap": code})
    assert again.history == history and again.variances == fit.variances


@pytest.mark.parametrize("swap_sd", [0.0, 0.1, 1.0])
@pytest.mark.parametrize("given", [0.0, 1e-6, 0.3, 30.0, 1e6])
def test_a_start_leaves_the_answer(swap_record, swap_sd, given):
    for seed in range(6):
        y, X, code = swap_record(seed, readings=[1, 3, 2, 5] * 3, swap_sd=swap_sd)
        same_answer(y, X, {"swap": code}, {"swap": given, "not a term": 1.0})


@pytest.mark.parametrize("swap_sd", [0.0, 0.5])
@pytest.mark.parametrize("given", [(0.0, 0.0), (1e-5, 1e3), (2.0, 0.0), (1.0, None)])
def test_a_start_leaves_the_answer_of_two_terms(swap_record, swap_sd, given):
    start = {name: g for name, g in zip(("swap", "block"), given, strict=True) if g is not None}
    for seed in range(6):
        y, X, code = swap_record(seed, blocks=6, readings=[1, 3, 2] * 8, swap_sd=swap_sd, lines=False)
        same_answer(y, X[:, :4], {"swap": code, "block": code // 4}, start)


def same_answer(y, X, groups, start):
    cold, warm = fit_reml(y, X, groups), fit_reml(y, X, groups, start=start)
    assert warm.history.converged
    assert warm.at_zero == cold.at_zero
    assert warm.restricted_log_likelihood == pytest.approx(cold.restricted_log_likelihood, abs=1e-8)
    for name in groups:
        assert warm.variances[name] == pytest.approx(cold.variances[name], rel=1e-6)


def test_a_start_near_the_answer_saves_evaluations(swap_record):
    y, X, code = swap_record(1, readings=[1, 3, 2, 5] * 3)
    whole = fit_reml(y, X, {"swap": code})
    kept = code != 5
    cold, warm = (fit_reml(y[kept], X[kept], {"swap": code[kept]}, start=s) for s in (None, whole.variance_ratios))
    assert warm.history.evaluations < cold.history.evaluations
    assert warm.history.start == (whole.variance_ratios["swap"],)
    assert warm.variances["swap"] == pytest.approx(cold.variances["swap"], rel=1e-6)


@pytest.mark.parametrize("bad", [-1.0, np.nan, np.inf])
def test_a_start_that_no_variance_has(swap_record, bad):
    y, X, code = swap_record(1)
    with pytest.raises(ValueError, match=r"start must hold variance ratios.*'swap'"):
        fit_reml(y, X, {"swap": code}, start={"swap": bad})
