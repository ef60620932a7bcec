"""Loads of a wire over its span, against the catenary written out, and what is refused."""

from __future__ import annotations

import math

import pytest

from antexp.analysis.wire_loads import WANTED_FACTOR, Span, WireLoad, settle_span, wire_load
from antexp.errors import JudgementError
from antexp.plan.reader import plan_from_dict


def plan(wire=None, **tables):
    return plan_from_dict({"candidates": [{"name": "a", **(wire or {})}, "b"], **tables})


WIRE = {"mass_g_per_m": 20.0, "diameter_mm": 2.0, "insulation_mm": 0.5, "breaking_load_n": 300.0}


def test_a_wire_hangs_and_pulls_as_a_catenary():
    """y = (H/w)·cosh(w·x/H), in every book on statics; wind ½·ρ·v²·Cd·d with Cd 1.2 and ρ 1.25 (EN 1991-1-4)."""
    load = wire_load(plan(WIRE).candidates[0], Span(40.0, tension_n=25.0, gust_m_per_s=20.0))
    w = 20e-3 * 9.80665
    assert load.sag_m == pytest.approx(25.0 / w * (math.cosh(w * 20.0 / 25.0) - 1.0))
    assert load.tension_n == pytest.approx(25.0 + w * load.sag_m)  # T = H + w·f at the support
    assert load.wind_n_per_m == pytest.approx(0.5 * 1.25 * 20.0**2 * 1.2 * 3e-3)  # half a millimetre of cover each side
    assert load.safety_factor == pytest.approx(300.0 / load.tension_n)
    assert load.safety_factor_in_wind == pytest.approx(300.0 / load.tension_in_wind_n)
    assert load.tension_in_wind_n > load.tension_n


def test_a_sag_that_is_asked_for_comes_out():
    load = wire_load(plan(WIRE).candidates[0], Span(40.0, sag_m=1.5))
    assert load.sag_m == pytest.approx(1.5, rel=1e-6)
    assert load.wind_n_per_m is None and load.tension_in_wind_n is None and load.safety_factor_in_wind is None
    assert load.safety_factor == pytest.approx(300.0 / load.tension_n)


def test_what_is_not_known_stays_open():
    span = Span(40.0, tension_n=25.0, gust_m_per_s=20.0)
    bare = plan({"diameter_mm": 2.0}).candidates[0]
    assert wire_load(bare, span) == WireLoad(wind_n_per_m=pytest.approx(0.5 * 1.25 * 400 * 1.2 * 2e-3))
    assert wire_load(bare, None) == WireLoad()
    heavy = plan({"mass_g_per_m": 20.0}).candidates[0]
    assert wire_load(heavy, Span(40.0)) == WireLoad()
    assert wire_load(heavy, Span(40.0, gust_m_per_s=20.0)) == WireLoad()
    found = wire_load(heavy, span)
    assert found.sag_m is not None and found.safety_factor is None and found.wind_n_per_m is None
    light = wire_load(plan({"mass_g_per_m": 20.0, "breaking_load_n": 300.0}).candidates[0], span)
    assert light.safety_factor is not None and light.safety_factor_in_wind is None
    whole = wire_load(plan({"mass_g_per_m": 20.0, "diameter_mm": 2.0}).candidates[0], span)
    assert whole.safety_factor_in_wind is None and whole.tension_in_wind_n is not None


def test_the_factor_that_is_wanted():
    assert WANTED_FACTOR == 3.0  # common practice, no source


def test_the_span_is_the_dipoles_the_pull_the_plans():
    field = {"tension_n": 30.0}
    level = plan(radio={"frequency_mhz": 14.2, "polarisation": "horizontal"}, field=field)
    flat = settle_span(level, None, None, None, 9)
    assert flat.span_m == pytest.approx(299.792458 / 14.2 / 2, rel=0.06) and flat.tension_n == 30.0
    assert flat.gust_m_per_s == 9
    upright = plan(radio={"frequency_mhz": 14.2, "polarisation": "vertical"}, field=field)
    assert settle_span(upright, None, None, None, None) is None
    assert settle_span(upright, 12.0, None, None, None) == Span(12.0, 30.0)
    assert settle_span(upright, 12.0, 40.0, None, None) == Span(12.0, 40.0)
    assert settle_span(upright, 12.0, None, 0.5, None) == Span(12.0, None, 0.5)


@pytest.mark.parametrize(("ends", "place"), [((1e-2, 1e4), 0), ((1e-3, 1e5), 1), ((1e-4, 100.0), 2), ((0.0, 150.0), 3)])
def test_the_ends_of_each_range_are_allowed_and_what_lies_beyond_is_not(ends, place):
    for value in ends:
        given = [10.0, None, None, None]
        given[place] = value
        assert settle_span(plan(), *given) is not None
    beyond = (ends[0] / 1.2 if ends[0] else -0.1, (ends[1] if place != 2 else 1e4) * 1.2, math.nan, math.inf)
    for value in beyond:
        given = [10.0, None, None, None]
        given[place] = value
        with pytest.raises(JudgementError, match="is out of range") as caught:
            settle_span(plan(), *given)
        assert len(caught.value.faults) == 1


def test_all_faults_at_once_and_one_of_pull_and_sag():
    with pytest.raises(JudgementError) as caught:
        settle_span(plan(), 10.0, 20.0, 0.5, None)
    assert "pull and sag are both given" in str(caught.value)
    with pytest.raises(JudgementError) as caught:
        settle_span(plan(), -1.0, -1.0, -1.0, -1.0)
    assert len(caught.value.faults) == 5


def test_a_sag_of_more_than_ten_spans_is_refused_and_one_without_a_span_is_none_yet():
    assert settle_span(plan(), 10.0, None, 100.0, None) == Span(10.0, None, 100.0)
    with pytest.raises(JudgementError, match="more than ten times the span"):
        settle_span(plan(), 10.0, None, 100.5, None)
    upright = plan(radio={"frequency_mhz": 14.2, "polarisation": "vertical"})
    assert settle_span(upright, None, None, 0.5, None) is None
