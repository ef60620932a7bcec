"""The check of a plan's range: numbers against ITU-R formulas, and what makes a range unfit."""

import json

import pytest

from antexp.plan.range_check import check_range
from antexp.plan.range_facts import range_facts
from antexp.plan.reader import plan_from_dict
from antexp.radio.path import GROUNDS, complex_permittivity, plane_earth_factor

RADIO = {"frequency_mhz": 14.2, "distance_m": 400, "height_m": 8, "receive_height_m": 6, "ground": "medium dry",
         "source_power_dbm": 10, "noise": "rural"}


def plan_of(radio=None, meter=None, field=None, candidates=None, matter_db=1.0):
    return plan_from_dict({
        "candidates": candidates or [{"name": "copper", "material": "copper", "diameter_mm": 1.5}, {"name": "other"}],
        "matter_db": matter_db, "radio": {**RADIO, **(radio or {})},
        "meter": {"bandwidth_hz": 300, "step_db": 0.1, **(meter or {})}, "field": {"blocks": 4, **(field or {})}})


def codes(check):
    return [notice.code for notice in check.warnings if notice.code not in ("physics-silent",)]


def test_keys_of_the_contract():
    document = check_range(plan_of()).to_dict()
    assert {"wavelength_m", "far_field_m", "free_space_loss_db", "expected_level_dbm", "signal_to_noise_db",
            "reading_scatter_floor_db"} <= set(document["range"])
    assert isinstance(document["warnings"], list)
    assert json.loads(json.dumps(document)) == document


def test_a_good_range_is_fit():
    check = check_range(plan_of())
    assert check.verdict == "fit" and check.why == ()


def test_numbers_against_the_recommendations():
    facts = range_facts(plan_of())
    assert facts.wavelength_m == pytest.approx(299.792458 / 14.2)
    # ITU-R P.525, rounded to a tenth: 32.4 + 20 log 14.2 + 20 log 0.4 = 47.5
    assert facts.free_space_loss_db == pytest.approx(47.5, abs=0.05)
    # ITU-R P.372 rural: 67.2 − 27.7 log 14.2 = 35.3; kT0B in 300 Hz −149.2
    assert facts.noise_level_dbm == pytest.approx(-149.2 + 35.28, abs=0.05)
    assert facts.thermal_noise_dbm == pytest.approx(-149.2, abs=0.05)
    assert facts.expected_level_dbm == pytest.approx(10 + 2 * 2.15 - 47.53 + facts.ground_factor_db, abs=0.02)
    assert facts.signal_to_noise_db == pytest.approx(facts.expected_level_dbm - facts.noise_level_dbm)
    # IARU Region 1 R.1: S9 is −73 dBm
    assert facts.expected_level_db_over_s9 == pytest.approx(facts.expected_level_dbm + 73)
    # size with image √(10.6² + 16²) = 19.2 m; five of them
    assert facts.far_field_m == pytest.approx(5 * 19.17, abs=0.1)


def test_ground_factor_is_that_of_the_kernel_and_numbers_may_replace_the_name():
    wet = GROUNDS["wet"]
    plan = plan_of({"ground": None, "permittivity": 30, "conductivity_s_per_m": 0.01})
    epsilon = complex(complex_permittivity(14.2, wet.permittivity.value, wet.conductivity_s_per_m.value))
    factor = abs(plane_earth_factor(14.2, 400.0, 8.0, 6.0, epsilon, "horizontal"))
    assert 10 ** (range_facts(plan).ground_factor_db / 20) == pytest.approx(factor)
    assert range_facts(plan).ground_factor_db == pytest.approx(range_facts(plan_of({"ground": "wet"})).ground_factor_db)


def test_a_low_vertical_over_a_good_conductor_has_its_textbook_gain():
    plan = plan_of({"element": "quarter-wave vertical", "ground": "sea water", "ground_loss_ohm": 0, "height_m": 0,
                    "receive_height_m": 0})
    facts = range_facts(plan)
    # 5.16 dBi over perfect ground at each end; the two share one image factor of 6.02 dB
    assert facts.ground_factor_db == pytest.approx(6.02, abs=0.1)
    assert facts.expected_level_dbm == pytest.approx(10 + 2 * 5.16 - 6.02 - 47.53, abs=0.15)


def test_what_is_missing_gives_null_and_is_named():
    check = check_range(plan_from_dict({"candidates": ["a", "b"], "frequency_mhz": 14.2, "matter_db": 1}))
    facts = check.range.to_dict()
    assert facts["expected_level_dbm"] is None and facts["signal_to_noise_db"] is None
    assert facts["wavelength_m"] > 0
    assert check.verdict == "fit with cautions"
    assert "radio.distance_m" in check.why[0] and "radio.source_power_dbm" in check.why[0]
    assert all(value is None for key, value in
               range_facts(plan_from_dict({"candidates": ["a", "b"]})).to_dict().items())


@pytest.mark.parametrize("radio", [
    {"height_m": 0, "receive_height_m": 0},
    {"ground": None, "permittivity": 1, "conductivity_s_per_m": 0, "height_m": 0, "receive_height_m": 0},
])
def test_a_wire_on_the_ground_gives_null_and_not_infinity(radio):
    document = check_range(plan_of(radio)).to_dict()
    assert document["range"]["expected_level_dbm"] is None
    json.dumps(document, allow_nan=False)


def test_geometry_of_a_rehanging_is_about_six_hundredths():
    # radio practice, judgement: ±5 cm, ±2° and 1 % of sag a few metres up at HF
    assert range_facts(plan_of()).geometric_rehang_sd_db == pytest.approx(0.06, abs=0.015)


@pytest.mark.parametrize(("change", "code"), [
    ({"radio": {"distance_m": 15}}, "in-near-field"),
    ({"radio": {"source_power_dbm": -90}}, "too-noisy"),
    ({"meter": {"scale": "S units", "step_db": 6}}, "step-hides-gap"),
])
def test_what_makes_a_range_unfit(change, code):
    check = check_range(plan_of(**change))
    assert check.verdict == "not fit"
    assert codes(check)[0] == code and check.why[0] == check.warnings[0].text


@pytest.mark.parametrize(("change", "code"), [
    ({"radio": {"distance_m": 60}}, "short-of-far-field"),
    ({"radio": {"source_power_dbm": -32}}, "noisy"),
    ({"radio": {"source_power_dbm": -32}}, "reading-sd-below-floor"),
    ({"meter": {"step_db": 2.0, "reading_sd_db": 1.0}}, "coarse-step"),
    ({"radio": {"distance_m": 20_000, "height_m": 3, "receive_height_m": 3, "source_power_dbm": 65}}, "near-null"),
    ({"radio": {"height_m": 1}}, "steep-with-height"),
    ({"field": {"rehang_sd_db": 0.01}}, "rehang-sd-below-geometry"),
    ({"field": {"places": 2, "place_spacing_m": 10}}, "places-too-close"),
    ({"field": {"places": 2}}, "places-too-close"),
    ({"radio": {"noise": None}}, "range-not-stated"),
])
def test_what_calls_for_caution(change, code):
    check = check_range(plan_of(**change))
    assert check.verdict == "fit with cautions"
    assert code in codes(check)


def test_places_a_wavelength_apart_are_fine():
    assert check_range(plan_of(field={"places": 2, "place_spacing_m": 30})).verdict == "fit"


def test_sag_that_goes_with_the_wire():
    light = {"name": "light", "mass_g_per_m": 5.0}
    heavy = {"name": "heavy-steel", "mass_g_per_m": 60.0, "breaking_load_n": 100.0}
    check = check_range(plan_of(candidates=[light, heavy], field={"tension_n": 40.0}))
    # parabola: 0.5884 N/m·10.56²/(8·40) = 0.205 m
    assert check.range.sag_m["heavy-steel"] == pytest.approx(0.205, abs=1e-3)
    assert check.range.sag_gap_db["light"] == 0.0
    assert check.range.sag_gap_db["heavy-steel"] == pytest.approx(
        -check.range.height_slope_db_per_m * 0.8106 * (0.205 - 0.0171), abs=1e-3)
    assert {"pulled-too-hard"} <= set(codes(check))
    assert "sag-goes-with-wire" in codes(check_range(plan_of(candidates=[light, heavy], field={"tension_n": 10.0})))


def test_wires_of_a_few_millimetres_lie_within_three_tenths():
    # radio practice (common practice, no source): copper, aluminium, galvanised and stainless of a few millimetres
    metals = [{"name": "copper", "material": "copper", "diameter_mm": 2.0},
              {"name": "aluminium", "material": "aluminium", "diameter_mm": 2.5},
              {"name": "galvanised", "material": "steel", "diameter_mm": 2.5,
               "coating": {"material": "zinc", "thickness_um": 30}},
              {"name": "stainless", "material": "stainless", "diameter_mm": 2.5}]
    losses = [each.conductor_loss_db for each in check_range(plan_of(candidates=metals)).expected.candidates]
    assert max(losses) - min(losses) < 0.3


def test_expected_gaps_stand_beside_the_range():
    check = check_range(plan_of(), detectable_db=0.9)
    assert check.expected.detectable_db == 0.9
    assert check.to_dict()["expected"][0]["conductor_loss_db"] > 0
    assert check.cautions[0].about == "power lines"
