"""fit_reml against lme4, lmerTest and pbkrtest on records of our own (tests/reference/kernel_cases, computed with R).

`output.txt` of each case is the raw output of `fit.R`, `versions.txt` says which versions made it. Where Rscript and
the packages are installed the script is run again and must print what it printed then.
"""

import csv
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

from antexp.mixed import fit_reml

CASES = Path(__file__).parents[1] / "reference" / "kernel_cases"
NAMES = sorted(folder.name for folder in CASES.iterdir() if folder.is_dir())


def indicators(labels):
    return (labels[:, None] == np.unique(labels)[None, :]).astype(float)


def record_of(name):
    """Levels, fixed columns by hand from the words of model.txt, random terms, contrasts."""
    with (CASES / name / "record.csv").open() as source:
        rows = list(csv.DictReader(source))
    column = {key: np.array([row[key] for row in rows]) for key in rows[0]}
    y, minute = column["level"].astype(float), column["minute"].astype(float)
    fixed, random = (CASES / name / "model.txt").read_text().splitlines()
    wires, blocks = indicators(column["candidate"]), indicators(column["block"])
    parts = [wires]
    for word in fixed.split(" + ")[2:]:
        parts.append({
            "block": blocks[:, 1:],
            "block:minute": blocks * minute[:, None],
            "block:I(minute^2)": blocks * minute[:, None] ** 2,
        }[word])  # fmt: skip
    groups = {word.strip("() ").split(" | ")[1]: None for word in random.split(" + ")}
    groups = {term: column[term] for term in groups}
    X = np.column_stack(parts)
    k = wires.shape[1]
    L = np.column_stack([-np.ones(k - 1), np.eye(k - 1), np.zeros((k - 1, X.shape[1] - k))])
    return y, X, groups, L


def output_of(text):
    """Raw output as {(quantity, name): value}."""
    return {tuple(line.split()[:2]): float(line.split()[2]) for line in text.splitlines() if line.strip()}


def column_of(expected, quantity):
    return np.array([value for (q, _), value in expected.items() if q == quantity])


@pytest.mark.parametrize("name", NAMES)
def test_agrees_with_r(name):
    """Tolerances are those of issue and method: spreads, gaps, errors 1e-5, df 1e-4, likelihood 1e-6."""
    y, X, groups, L = record_of(name)
    expected = output_of((CASES / name / "output.txt").read_text())
    fit = fit_reml(y, X, groups, at_zero="keep")
    found, other = fit.contrasts(L), fit.contrasts(L, method="satterthwaite")
    for term in groups:
        assert np.sqrt(fit.variances[term]) == pytest.approx(expected["sd", term], rel=1e-5, abs=1e-9)
    assert np.sqrt(fit.residual_variance) == pytest.approx(expected["sd", "Residual"], rel=1e-5)
    assert fit.restricted_log_likelihood == pytest.approx(expected["loglik_invariant", "-"], abs=1e-6)
    np.testing.assert_allclose(found.estimates, column_of(expected, "estimate"), rtol=1e-5, atol=1e-6)
    np.testing.assert_allclose(other.standard_errors, column_of(expected, "se_plain"), rtol=1e-5)
    np.testing.assert_allclose(found.standard_errors, column_of(expected, "se_kr"), rtol=1e-5)
    np.testing.assert_allclose(found.degrees_of_freedom, column_of(expected, "df_kr"), rtol=1e-4)
    if not fit.at_zero:  # lmerTest differentiates by differences: some 1e-4; at the edge it has no information
        np.testing.assert_allclose(other.degrees_of_freedom, column_of(expected, "df_satterthwaite"), rtol=1e-3)
    for name, rows in (("joint", L), ("joint_of_two", L[:2])):
        joint = fit.joint_test(rows)
        assert joint.numerator_df == expected[name, "ndf"]
        assert joint.denominator_df == pytest.approx(expected[name, "ddf"], rel=1e-4)
        assert joint.scale == pytest.approx(expected[name, "scale"], rel=1e-5)
        assert joint.f_statistic == pytest.approx(expected[name, "F"], rel=1e-4)


def test_dropped_component_agrees_with_r():
    y, X, groups, L = record_of("swap_at_zero")
    expected = output_of((CASES / "swap_at_zero" / "output.txt").read_text())
    fit = fit_reml(y, X, groups, at_zero="drop")
    assert fit.at_zero == ("swap",)
    found = fit.contrasts(L)
    np.testing.assert_allclose(found.standard_errors, column_of(expected, "se_dropped"), rtol=1e-9)
    np.testing.assert_allclose(found.degrees_of_freedom, expected["df_dropped", "-"], rtol=1e-9)


def r_is_here():
    """Tell whether Rscript and the packages are installed."""
    if shutil.which("Rscript") is None:
        return False
    ask = 'q(status = !all(sapply(c("lme4", "lmerTest", "pbkrtest"), requireNamespace, quietly = TRUE)))'
    return subprocess.run(["Rscript", "-e", ask], capture_output=True, check=False).returncode == 0


def test_r_says_it_again():
    if not r_is_here():
        pytest.skip("Rscript with lme4, lmerTest and pbkrtest is not installed")
    run = subprocess.run(["Rscript", "fit.R", *NAMES], cwd=CASES, capture_output=True, text=True, check=True)
    parts = run.stdout.split("case ")[1:]
    assert [part.split()[0] for part in parts] == NAMES
    for name, part in zip(NAMES, parts, strict=True):
        now, then = output_of("case " + part), output_of((CASES / name / "output.txt").read_text())
        assert now.keys() == then.keys()
        for key, value in then.items():
            assert now[key] == pytest.approx(value, rel=1e-3 if key[0] == "df_satterthwaite" else 1e-6, abs=1e-8), key
