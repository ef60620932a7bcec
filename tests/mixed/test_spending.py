"""Spending and boundaries against published group-sequential tables."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from antexp.mixed.spending import boundaries, crossing_probabilities, increments, spent

REFERENCE = Path(__file__).parents[1] / "reference"


def test_boundaries_of_lan_demets_obrien_fleming_spending():
    """Lan & DeMets 1983; Reboussin et al. 2000 (digits from memory), tests/reference/C05; 0.025 on each side."""
    case = json.loads((REFERENCE / "C05_lan_demets_obf.json").read_text("utf-8"))
    rows = case["data"]["rows"]
    for K in (2, 3, 4, 5):
        found = boundaries([k / K for k in range(1, K + 1)], 0.05)
        published = [row[3] for row in rows if row[0] == K]
        computed = [row[4] for row in rows if row[0] == K]
        np.testing.assert_allclose(found, published, atol=case["tolerance"]["published_abs"])
        np.testing.assert_allclose(found, computed, atol=case["tolerance"]["computed_abs"])


def test_published_constants_spend_what_they_say():
    """Jennison & Turnbull 2000, tables 2.1 and 2.3 (digits from memory), tests/reference/C04."""
    case = json.loads((REFERENCE / "C04_group_sequential_constants.json").read_text("utf-8"))
    for rule, K, alpha, published, computed in case["data"]["rows"]:
        looks = np.arange(1, K + 1) / K
        for constant, tolerance in ((published, 0.03), (computed, 0.002)):
            bounds = np.full(K, constant) if rule == "Pocock" else constant * np.sqrt(K / np.arange(1, K + 1))
            # three printed digits of a constant near 2 move the error by up to 3 % of itself
            assert crossing_probabilities(looks, bounds).sum() == pytest.approx(alpha, rel=tolerance)


def test_increments_add_up_and_early_looks_get_little():
    share = increments([3 / 8, 6 / 8, 1.0], 0.05)
    assert share.sum() == pytest.approx(0.05)
    assert share[0] < 0.001 < share[1] < share[2]
    assert spent(1.0, 0.05) == pytest.approx(0.05)
    assert spent(0.0, 0.05) == 0.0


def test_the_union_bound_is_a_little_wider_than_the_exact_boundary():
    from scipy.stats import norm

    looks = [0.5, 1.0]
    exact, union = boundaries(looks, 0.05), norm.isf(increments(looks, 0.05) / 2)
    assert np.all(union >= exact - 1e-9)
    assert union[1] - exact[1] < 0.05


@pytest.mark.parametrize("looks", [[], [0.0, 1.0], [-0.2, 0.5], [0.5, 0.5], [0.4, 0.8, 1.2], [1.2]])
def test_looks_outside_of_the_record_are_refused(looks):
    with pytest.raises(ValueError, match="allowed rising, above 0, at most 1"):
        increments(looks, 0.05)


def test_all_of_the_record_may_be_the_last_look_or_the_only_one():
    assert increments([1.0], 0.05) == pytest.approx([0.05])
    assert increments([0.3, 0.6, 1.0], 0.05).sum() == pytest.approx(0.05)


def test_looks_that_do_not_rise_are_refused():
    with pytest.raises(ValueError, match="rising"):
        increments([0.5, 0.5, 1.0], 0.05)
