"""Critical values and adjusted p against printed tables, scipy and mvtnorm; then what must hold for any family."""

import json
import shutil
import subprocess
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from antexp.mixed.factor_correlation import all_pairs_contrasts, all_pairs_correlation
from antexp.mixed.multivariate_t import adjusted_p, critical_value, family_adjusted_p, family_critical_values

REFERENCE = Path(__file__).parents[1] / "reference"
MVTNORM = REFERENCE / "mvtnorm"


def load(name):
    return json.loads((REFERENCE / f"{name}.json").read_text(encoding="utf-8"))


def equal(m, rho=0.5):
    return np.full((m, m), rho) + (1 - rho) * np.eye(m)


def correlate(covariance):
    se = np.sqrt(np.diag(covariance))
    return covariance / np.outer(se, se)


# Outside references -------------------------------------------------------------------------------------------------


def test_dunnett_tables():
    # C01: Dunnett 1955, 1964 (digits from memory), and values computed elsewhere.
    case = load("C01_dunnett_critical_values")
    off_in_print = {tuple(row[:3]) for row in case["agreement"]["disagreements_over_0_005"]}
    for sides, k, df, published, computed in case["data"]["rows"]:
        value = critical_value(equal(k), float(df), sides={"one": 1, "two": 2}[sides])
        assert value == pytest.approx(computed, abs=case["tolerance"]["computed_abs"])
        if (sides, k, df) not in off_in_print:
            assert value == pytest.approx(published, abs=case["tolerance"]["published_abs"])


def test_dunnett_with_the_reference_repeated():
    # C02: computed with scipy.
    case = load("C02_dunnett_reference_repeated")
    for k, df, ratio, _, critical in case["data"]["rows"]:
        assert critical_value(equal(k, 1 / (1 + ratio)), df) == pytest.approx(critical, abs=case["tolerance"]["abs"])


def test_studentised_range_tables():
    # C03: Harter 1960; Pearson & Hartley (digits from memory); computed with scipy and R's qtukey.
    case = load("C03_studentised_range")
    for k, df, published, computed in case["data"]["rows"]:
        value = np.sqrt(2) * critical_value(all_pairs_correlation(k), float(df))
        assert value == pytest.approx(computed, abs=case["tolerance"]["computed_abs"])
        assert value == pytest.approx(published, abs=case["tolerance"]["published_abs"])


def test_dunnett_blood_counts():
    # C18: Dunnett 1955, control n = 6, drugs n = 4 and 5.
    case = load("C18_dunnett1955_blood")
    expected, tolerance = case["expected"], case["tolerance"]
    r = np.array([[1.0, expected["rho"]], [expected["rho"], 1.0]])
    assert critical_value(r, expected["df"]) == pytest.approx(
        expected["critical_two_sided"], abs=tolerance["critical_abs"]
    )
    p = adjusted_p(expected["t"], r, expected["df"])
    assert p == pytest.approx(expected["published_p"], abs=tolerance["published_p_abs"])
    # The case's other digits are those of another program; ours come from a table of the share, good to 1e-5.
    assert p == pytest.approx(expected["adjusted_p"], rel=1e-5)


def test_against_scipy_dunnett():
    rng = np.random.default_rng(11)
    groups = [rng.normal(mean, 1.0, 5) for mean in (0.8, 1.9, 0.1, -0.7)]
    control = rng.normal(0.0, 1.0, 8)
    for alternative, sides in (("two-sided", 2), ("greater", 1)):
        theirs = stats.dunnett(*groups, control=control, alternative=alternative, rng=np.random.default_rng(1))
        sizes = np.array([5.0, 5, 5, 5])
        r = correlate(np.diag(1 / sizes) + 1 / 8)
        ours = adjusted_p(theirs.statistic, r, 28 - 5, sides)
        # scipy integrates at random, to about 1e-4.
        assert ours == pytest.approx(theirs.pvalue, abs=5e-4)


def test_against_scipy_tukey():
    rng = np.random.default_rng(12)
    groups = [rng.normal(mean, 1.0, 6) for mean in (0.0, 0.4, 1.7, 0.2, 2.4)]
    theirs = stats.tukey_hsd(*groups)
    first, second = np.triu_indices(5, 1)
    pooled = np.mean([np.var(group, ddof=1) for group in groups])
    t = theirs.statistic[first, second] / np.sqrt(pooled * 2 / 6)
    # Both are integrals; ours reads the share from a table, which is coarsest where p is next to 1.
    assert adjusted_p(t, all_pairs_correlation(5), 25) == pytest.approx(theirs.pvalue[first, second], rel=1e-4)


@cache
def mvtnorm_cases():
    cases = json.loads((MVTNORM / "cases.json").read_text(encoding="utf-8"))
    return {case["name"]: (np.array(case["correlation"]), case["sides"]) for case in cases}


RECORDED = json.loads((MVTNORM / "probabilities.json").read_text(encoding="utf-8"))["rows"]


@pytest.mark.parametrize("name", sorted({row["name"] for row in RECORDED}))
def test_against_recorded_mvtnorm(name):
    # tests/reference/mvtnorm: cases of our own, probabilities.R and its raw output with versions.
    r, sides = mvtnorm_cases()[name]
    for row in (row for row in RECORDED if row["name"] == name):
        p = adjusted_p(np.full(len(r), row["level"]), r, row["df"] or np.inf, sides)[0]
        # Our 1e-3 and mvtnorm's own estimated error.
        assert abs(p - row["tail"]) < 1e-3 * row["tail"] + row["error"], row


def has_mvtnorm():
    if shutil.which("Rscript") is None:
        return False
    ask = "quit(status = !all(c('mvtnorm', 'jsonlite') %in% rownames(installed.packages())))"
    return subprocess.run(["Rscript", "-e", ask], capture_output=True, check=False).returncode == 0


def test_mvtnorm_still_says_so(tmp_path):
    if not has_mvtnorm():
        pytest.skip("Rscript with mvtnorm and jsonlite is not installed here")
    out = tmp_path / "again.json"
    command = ["Rscript", str(MVTNORM / "probabilities.R"), str(MVTNORM / "cases.json"), str(out), "20000"]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    again = json.loads(out.read_text(encoding="utf-8"))["rows"]
    assert [(row["name"], row["df"], row["level"]) for row in again] == [
        (row["name"], row["df"], row["level"]) for row in RECORDED
    ]
    for new, old in zip(again, RECORDED, strict=True):
        # Both errors are estimates of 99 per cent limits; three of them cover all 64 rows.
        assert abs(new["tail"] - old["tail"]) < 3 * (new["error"] + old["error"]) + 1e-5, new


@pytest.mark.parametrize("df", [1.0, 2.6, 7.3, 41.9])
def test_real_degrees_of_freedom_against_a_mixture(df):
    # Independent route: the normal tail of two independent contrasts is known in closed form; mix it over chi.
    s = np.linspace(1e-9, 8.0 + 40.0 / df, 400_001)
    density = stats.chi.pdf(s * np.sqrt(df), df) * np.sqrt(df)
    for c in (1.5, 3.0, 8.0):
        q = 2 * stats.norm.sf(c * s)
        expected = np.trapezoid(density * (2 * q - q**2), s)
        assert adjusted_p([c, c], np.eye(2), df)[0] == pytest.approx(expected, rel=1e-5)


# What must hold for any family --------------------------------------------------------------------------------------


def test_one_comparison_is_students_t():
    for df in (0.8, 3.3, 20, np.inf):
        two, one = (0.975, 0.95)
        point = stats.norm.ppf if np.isinf(df) else lambda p, df=df: stats.t.ppf(p, df)
        assert critical_value([[1.0]], df) == pytest.approx(point(two), rel=1e-9)
        assert critical_value([[1.0]], df, sides=1) == pytest.approx(point(one), rel=1e-9)
    assert adjusted_p([-2.5], [[1.0]], 9) == pytest.approx(2 * stats.t.sf(2.5, 9), rel=1e-12)
    assert adjusted_p([-2.5], [[1.0]], 9, sides=1) == pytest.approx(stats.t.cdf(2.5, 9), rel=1e-12)


def test_small_p_meets_bonferroni():
    r = correlate(np.cov(np.random.default_rng(2).normal(size=(8, 12))))
    t = np.array([6.0, 8.0, 12.0, 20.0, 30.0, 37.0, 5.5, 7.0])
    p = adjusted_p(t, r, np.inf)
    bound = 16 * stats.norm.sf(t)
    assert np.all(p > 0)
    assert np.all(p <= bound * (1 + 1e-12))
    assert p == pytest.approx(bound, rel=2e-3)


def test_a_t_that_is_not_a_number_stays_so():
    p = adjusted_p([2.0, np.nan, np.inf], equal(3), 7)
    assert np.isnan(p[1])
    assert p[2] == 0.0
    assert 0 < p[0] < 1


def test_many_comparisons():
    # 12 candidates, all pairs, and 30 against a reference: the value lies between one comparison and Bonferroni.
    repeats = np.arange(3.0, 15.0)
    pairs = all_pairs_contrasts(12)
    r = correlate(pairs @ np.diag(1 / repeats) @ pairs.T)
    value = critical_value(r, 19.5)
    assert np.sqrt(2) * value == pytest.approx(stats.studentized_range.ppf(0.95, 12, 19.5), rel=0.03)
    assert stats.t.ppf(0.975, 19.5) < value < stats.t.ppf(1 - 0.025 / 66, 19.5)
    # Tukey-Kramer is conservative for unequal repeats (Hayter 1984, Ann. Stat. 12:61).
    assert np.sqrt(2) * value < stats.studentized_range.ppf(0.95, 12, 19.5)
    thirty = critical_value(equal(30), 50)
    assert stats.t.ppf(0.975, 50) < thirty < stats.t.ppf(1 - 0.025 / 30, 50)


def correlations(m):
    rows = st.lists(st.floats(-2, 2), min_size=m * 3, max_size=m * 3)

    def build(values):
        loadings = np.array(values).reshape(m, 3)
        return correlate(loadings @ loadings.T + np.diag(np.linspace(0.3, 1.0, m)))

    return rows.map(build)


@settings(max_examples=12, deadline=None)
@given(
    r=correlations(4),
    df=st.lists(st.floats(2.0, 80.0), min_size=4, max_size=4),
    confidence=st.sampled_from([0.8, 0.95, 0.99]),
    sides=st.sampled_from([1, 2]),
)
def test_p_falls_below_alpha_exactly_at_the_critical_value(r, df, confidence, sides):
    c = family_critical_values(r, df, confidence, sides)
    beyond = family_adjusted_p(c * (1 + 1e-9), r, df, sides)
    short = family_adjusted_p(c * (1 - 1e-9), r, df, sides)
    assert np.all(beyond < 1 - confidence)
    assert np.all(short > 1 - confidence)


@settings(max_examples=12, deadline=None)
@given(r=correlations(5), df=st.floats(3.0, 100.0), sides=st.sampled_from([1, 2]))
def test_order_sign_and_confidence(r, df, sides):
    value = critical_value(r, df, 0.95, sides)
    shuffled = [3, 0, 4, 1, 2]
    # Another order is another lattice: the same to the accuracy promised.
    assert critical_value(r[np.ix_(shuffled, shuffled)], df, 0.95, sides) == pytest.approx(value, rel=1e-3)
    sign = np.array([1.0, -1, 1, -1, -1])
    if sides == 2:
        assert critical_value(r * np.outer(sign, sign), df) == pytest.approx(value, rel=1e-3)
    assert critical_value(r, df, 0.99, sides) > value > critical_value(r, df, 0.90, sides)
    assert critical_value(r, 2 * df, 0.95, sides) < value
    assert critical_value(r[:4, :4], df, 0.95, sides) < value * (1 + 1e-4)


# Unequal degrees of freedom (method, section 5) ----------------------------------------------------------------------


def test_equal_enough_degrees_of_freedom_take_the_smallest():
    assert family_critical_values(equal(3), [10, 12, 15]) == pytest.approx(np.full(3, critical_value(equal(3), 10)))
    # Below 5 the smallest serves all, however unequal.
    assert family_critical_values(equal(3), [4.9, 50, 90]) == pytest.approx(np.full(3, critical_value(equal(3), 4.9)))
    t = [2.0, 3.0, 1.0]
    assert np.array_equal(family_adjusted_p(t, equal(3), [10, 12, 15]), adjusted_p(t, equal(3), 10))


@pytest.mark.parametrize("sides", [1, 2])
def test_unequal_degrees_of_freedom_share_one_tail(sides):
    df = np.array([6.0, 20.0, np.inf])
    c = family_critical_values(equal(3), df, sides=sides)
    normal = critical_value(equal(3), np.inf, sides=sides)
    assert c[2] == pytest.approx(normal, rel=1e-9)
    assert stats.t.sf(c[:2], df[:2]) == pytest.approx(np.full(2, stats.norm.sf(normal)), rel=1e-9)
    # The adjusted p of a t is that of the normal deviate with the same tail.
    p = family_adjusted_p([3.0, 3.0, 3.0], equal(3), df, sides)
    z = stats.norm.isf(stats.t.sf(3.0, 6.0))
    assert p[0] == pytest.approx(adjusted_p([z] * 3, equal(3), np.inf, sides)[0], rel=1e-9)
    assert p[0] > p[1] > p[2]


def test_unequal_degrees_of_freedom_far_out():
    p = family_adjusted_p([40.0, 300.0, 2.0], equal(3), [6.0, 30.0, 12.0])
    assert p[:2] == pytest.approx(6 * stats.t.sf([40.0, 300.0], [6.0, 30.0]), rel=1e-3)


# What is refused -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: critical_value([[1.0, 0.5]], 5), r"correlation has the wrong shape: got \(1, 2\)"),
        (lambda: critical_value([[1.0, np.nan], [np.nan, 1.0]], 5), "not finite"),
        (lambda: critical_value([[2.0, 0.5], [0.5, 2.0]], 5), "not a correlation matrix"),
        (lambda: critical_value(-0.9 * np.ones((3, 3)) + 1.9 * np.eye(3), 5), "not positive semi-definite"),
        (lambda: critical_value(np.eye(2), 0.0), "df is not positive: got 0.0"),
        (lambda: critical_value(np.eye(2), np.nan), "df is not positive"),
        (lambda: critical_value(np.eye(2), 5, 95), "confidence is not a probability: got 95"),
        (lambda: critical_value(np.eye(2), 5, sides=3), "sides is not known: got 3"),
        (lambda: adjusted_p([1.0], np.eye(2), 5), r"t does not fit: got shape \(1,\); allowed \(2,\)"),
        (lambda: family_critical_values(np.eye(2), [5.0]), "df does not fit"),
        (lambda: family_adjusted_p([1.0, 2.0], np.eye(2), [5.0, -1.0]), "df does not fit"),
    ],
)
def test_arguments_that_do_not_fit_are_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
