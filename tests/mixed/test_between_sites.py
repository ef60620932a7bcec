"""Sites put together, against a published example and statsmodels' meta-analysis."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from antexp.mixed.between_sites import put_together

CASE = Path(__file__).parents[1] / "reference" / "vaccine_trials" / "case.json"


def trials():
    case = json.loads(CASE.read_text("utf-8"))
    a, b, c, d = np.array(case["rows"], dtype=float).T
    return np.log(a / (a + b) / (c / (c + d))), 1 / a - 1 / (a + b) + 1 / c - 1 / (c + d), case["published"]


def test_published_trials():
    """Viechtbauer 2010, J. Stat. Softw. 36(3) (digits from memory)."""
    y, variance, published = trials()
    found = put_together(y, np.sqrt(variance))
    assert found.heterogeneity == pytest.approx(published["Q"], abs=5e-4)
    assert found.between_variance == pytest.approx(published["paule_mandel_tau2"], abs=1e-4)


@pytest.mark.parametrize("seed", range(6))
def test_against_statsmodels(seed):
    """statsmodels.stats.meta_analysis.combine_effects, a general library: iterated = Paule-Mandel, Hartung-Knapp."""
    random = np.random.default_rng(seed)
    y, variance = (random.normal(-1, 0.5, 7), random.uniform(0.02, 0.3, 7)) if seed else trials()[:2]
    theirs = combine_effects(y, variance, method_re="iterated", use_t=True)
    found = put_together(y, np.sqrt(variance))
    assert found.between_variance == pytest.approx(max(theirs.tau2, 0.0), abs=1e-6)
    assert found.estimate == pytest.approx(theirs.mean_effect_re, abs=1e-6)
    fixed = 1 / np.sqrt((1 / variance).sum())
    assert found.standard_error == pytest.approx(max(theirs.sd_eff_w_re_hksj, fixed), rel=1e-5)


def test_never_narrower_than_the_fixed_effect_and_two_sites_are_that():
    alike = put_together([1.0, 1.001, 0.999, 1.0], [0.3, 0.2, 0.3, 0.4])
    assert alike.between_variance == 0.0
    assert alike.standard_error == pytest.approx(1 / np.sqrt((1 / np.array([0.3, 0.2, 0.3, 0.4]) ** 2).sum()))
    two = put_together([0.0, 2.0], [0.5, 0.5])
    assert two.standard_error == pytest.approx(0.5 / np.sqrt(2))
    assert two.between_variance == pytest.approx(2.0 - 0.25)


def test_a_single_site_is_refused():
    with pytest.raises(ValueError, match="two or more"):
        put_together([1.0], [0.1])


@pytest.mark.parametrize("sites", [3, 4, 9])
def test_sites_less_one_degrees_of_freedom(sites):
    """Hartung & Knapp 2001: K − 1; two sites rest on the fixed effect, with one."""
    random = np.random.default_rng(sites)
    found = put_together(random.normal(size=sites), random.uniform(0.1, 0.5, sites))
    assert found.degrees_of_freedom == sites - 1
    assert put_together([0.0, 2.0], [0.5, 0.5]).degrees_of_freedom == 1.0


def test_a_little_between_sites_is_found_and_a_great_deal_too():
    """Of equal errors s the squares over (s² + τ²) equal K − 1 at τ² = sample variance − s² (Paule & Mandel 1982)."""
    for y, error in (([0.0, 0.5, 1.1], 0.5), ([-3.0, 3.0], 0.1), ([-300.0, 300.0], 0.1)):
        assert put_together(y, np.full(len(y), error)).between_variance == pytest.approx(np.var(y, ddof=1) - error**2)
