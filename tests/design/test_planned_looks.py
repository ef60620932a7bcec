"""Looks that a plan names are paid for in all that is said beforehand."""

import pytest
from scipy import optimize, stats

from antexp.design.order import make_order
from antexp.design.planned_looks import end_confidence, look_alphas, planned_stops
from antexp.plan.reader import plan_from_dict


def order(stops, blocks=6):
    return make_order(plan_from_dict({"candidates": ["bare", "clad", "steel"],
                                      "field": {"blocks": blocks, "may_stop_after": stops}}))


def both_within(confidence, df):
    """The value that two gaps to a reference hung twice as often stay within together, by SciPy's multivariate t."""
    shape = [[1, 1 / 3], [1 / 3, 1]]
    found = stats.multivariate_t(shape=shape, df=df)
    return optimize.brentq(lambda c: found.cdf([c, c], lower_limit=[-c, -c], random_state=1) - confidence, 1, 9,
                           xtol=1e-4)


def test_a_look_at_the_end_or_past_it_is_none_before_it():
    assert planned_stops([2, 4, 6], 6) == (2, 4, 6)
    assert planned_stops([2, 4, 6], 4) == (2, 4)
    assert planned_stops([], 3) == (3,)
    assert end_confidence([3, 6], 3, 0.95) == 0.95


def test_two_equally_spaced_looks():
    """4 − 4Φ(z₀.₉₈₇₅/√f) of Lan & DeMets 1983 at f = ½: z₀.₉₈₇₅ = 2.2414 (tables of the normal distribution)."""
    assert look_alphas((3, 6), 0.05) == pytest.approx([0.00305, 0.04695], abs=1e-5)
    assert end_confidence([3], 6, 0.95) == pytest.approx(0.95305, abs=1e-5)


def test_an_order_announces_what_its_last_look_can_resolve():
    one, several = order([]), order([3, 5])
    assert list(one.table["candidate"]) == list(several.table["candidate"])
    wider = [more.resolution_db / less.resolution_db for less, more in zip(one.gaps, several.gaps, strict=True)]
    ends = [both_within(confidence, one.gaps[0].degrees_of_freedom) for confidence in (0.95, 0.97817)]
    assert wider == pytest.approx([ends[1] / ends[0]] * 2, rel=0.003)  # the order's correlation is not quite ⅓
    notice = next(notice for notice in several.warnings if notice.code == "looks-planned")
    assert "after 3 and 5 of 6 blocks" in notice.text and "97.82 %" in notice.text
    assert "looks-planned" not in [notice.code for notice in one.warnings]
