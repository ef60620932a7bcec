"""The `expect` document: numbers against formulas by hand, ranges, silence, sentences."""

import json

import numpy as np
import pytest

from antexp.columns import EXPECTED_LOSSES
from antexp.plan.expected_losses import expected_losses, loss_curves
from antexp.plan.reader import plan_from_dict
from antexp.radio.conductors import skin_depth_m, solid_wire_impedance_ohm_per_m

COPPER, STEEL, ALUMINIUM = (
    {"name": "copper", "material": "copper", "diameter_mm": 1.5},
    {"name": "steel", "material": "steel", "diameter_mm": 2.0},
    {"name": "aluminium", "material": "aluminium", "diameter_mm": 2.0},
)
GALVANISED = {"name": "galvanised", "material": "steel", "diameter_mm": 2.0,
              "coating": {"material": "zinc", "thickness_um": 25}, "feed_ohm": "62+9j"}


def plan_of(*candidates, radio=None, **top):
    return plan_from_dict({"candidates": list(candidates), "frequency_mhz": 14.2, "matter_db": 1.0,
                           "radio": radio or {}, **top})


def test_keys_of_the_contract():
    document = expected_losses(plan_of(COPPER, GALVANISED)).to_dict()
    assert all(tuple(candidate)[:7] == EXPECTED_LOSSES.names[:7] for candidate in document["candidates"])
    assert json.loads(json.dumps(document)) == document


def test_copper_dipole_by_hand():
    # R′ = (Rs/πd)(1 + δ/d) with Rs = 2.609e-7·√f (Ramo et al.), half of λ/2 of it, against 73.1 Ω
    surface = 2.6095e-7 * np.sqrt(14.2e6)
    per_m = surface / (np.pi * 1.5e-3) * (1 + skin_depth_m(14.2, 1 / 58e6) / 1.5e-3)
    loss_ohm = per_m * 299.792458 / 14.2 / 4
    copper = expected_losses(plan_of(COPPER, STEEL)).candidate("copper")
    assert copper.resistance_ohm_per_m == pytest.approx(per_m, rel=2e-3)
    assert copper.loss_resistance_ohm == pytest.approx(loss_ohm, rel=2e-3)
    assert copper.conductor_loss_db == pytest.approx(10 * np.log10(1 + loss_ohm / 73.1), rel=2e-3)
    assert copper.gap_to_reference_db == 0.0 and copper.gap_to_reference_range_db == (0.0, 0.0)


def test_a_gap_is_the_reference_loss_minus_the_candidates():
    expected = expected_losses(plan_of(COPPER, STEEL, ALUMINIUM))
    copper, steel, _ = expected.candidates
    assert steel.gap_to_reference_db == pytest.approx(copper.conductor_loss_db - steel.conductor_loss_db)
    assert steel.gap_to_reference_db < -0.5


def test_a_vertical_shares_its_ground_loss():
    radio = {"element": "quarter-wave vertical", "ground_loss_ohm": 12}
    expected = expected_losses(plan_of(COPPER, STEEL, radio=radio))
    a, b = (each.loss_resistance_ohm for each in expected.candidates)
    assert expected.feed_resistance_ohm[1] == pytest.approx(36.5 + 12)
    assert expected.candidate("steel").gap_to_reference_db == pytest.approx(
        10 * np.log10((36.5 + 12 + a) / (36.5 + 12 + b)))
    per_m = solid_wire_impedance_ohm_per_m(14.2, 2.0, 1.43e-7, 100.0).real
    assert b == pytest.approx(per_m * 299.792458 / 14.2 / 4 / 2), "R′·h/2, h a quarter wave"


def test_every_value_lies_in_its_range_and_steel_is_the_uncertain_one():
    expected = expected_losses(plan_of(COPPER, STEEL, GALVANISED, {**COPPER, "name": "stranded", "strands": 7}))
    for each in expected.candidates:
        low, high = each.conductor_loss_range_db
        assert 0 < low < each.conductor_loss_db < high
        assert each.resistance_range_ohm_per_m[0] <= each.resistance_ohm_per_m <= each.resistance_range_ohm_per_m[1]
    copper, steel, _, stranded = expected.candidates
    # permeability 30 … 200 around 100 and ρ 1.2 … 1.8 around 1.43: R goes with the root of their product
    assert steel.resistance_range_ohm_per_m[1] / steel.resistance_ohm_per_m == pytest.approx(np.sqrt(2 * 1.8 / 1.43),
                                                                                             rel=0.01)
    assert stranded.resistance_range_ohm_per_m[0] == pytest.approx(copper.resistance_range_ohm_per_m[0])
    assert stranded.resistance_range_ohm_per_m[1] == pytest.approx(1.3 * copper.resistance_range_ohm_per_m[1])


def test_a_users_own_metal_has_no_range_but_that_of_the_feed():
    own = {"name": "own", "resistivity_ohm_m": 1.43e-7, "relative_permeability": 100, "diameter_mm": 2.0}
    mine, steel = expected_losses(plan_of(own, STEEL)).candidates
    assert mine.resistance_ohm_per_m == pytest.approx(steel.resistance_ohm_per_m)
    assert mine.resistance_range_ohm_per_m == pytest.approx([mine.resistance_ohm_per_m] * 2)


def test_height_narrows_the_range():
    free = expected_losses(plan_of(COPPER, STEEL)).candidate("steel").conductor_loss_range_db
    placed = expected_losses(plan_of(COPPER, STEEL, radio={"height_m": 8})).candidate("steel").conductor_loss_range_db
    assert free[0] <= placed[0] and placed[1] < free[1]


def test_physics_is_silent_without_material_and_never_guesses_it_from_the_name():
    named = {"name": "copper-clad steel 1.2 mm"}
    expected = expected_losses(plan_of(COPPER, named, {"name": "b", "material": "brass"}))
    _, named, half = expected.candidates
    assert named.conductor_loss_db is None and named.gap_to_reference_db is None
    assert named.missing == ("candidates.material", "candidates.diameter_mm")
    assert half.missing == ("candidates.diameter_mm",)
    assert [notice.code for notice in expected.warnings] == ["physics-silent"]
    assert "copper-clad steel 1.2 mm" in expected.warnings[0].text
    assert expected.candidate("copper").conductor_loss_db > 0, "the others are still reckoned"


def test_without_a_frequency_only_mismatch_is_left():
    expected = expected_losses(plan_from_dict({"candidates": [COPPER, GALVANISED]}))
    assert [each.conductor_loss_db for each in expected.candidates] == [None, None]
    # by hand: M = 4·50·62/|112 + 9j|² = 12400/12625
    assert expected.candidate("galvanised").mismatch_loss_db == pytest.approx(-10 * np.log10(12400 / 12625))
    assert expected.candidate("copper").mismatch_loss_db is None
    assert "radio.frequency_mhz" in expected.candidate("copper").missing


def test_what_will_not_separate_is_said_with_both_numbers():
    sentences = expected_losses(plan_of(COPPER, ALUMINIUM, GALVANISED, STEEL), detectable_db=0.9).sentences
    together = next(sentence for sentence in sentences if "will not separate" in sentence)
    assert together.startswith("This plan notices 0.90 dB; physics expects 0.0")
    assert "“copper”, “aluminium” and “galvanised”" in together and together.endswith("and need not.")
    steel = next(sentence for sentence in sentences if sentence.startswith("Physics expects “steel”"))
    assert "weaker than “copper”" in steel and "may or may not notice" in steel


def test_a_fine_plan_should_notice_steel():
    sentences = expected_losses(plan_of(COPPER, STEEL), detectable_db=0.3).sentences
    assert any("this plan should notice it" in sentence for sentence in sentences)


def test_a_gap_too_small_to_see_that_would_matter_asks_for_more():
    plan = plan_from_dict({"candidates": [COPPER, STEEL], "frequency_mhz": 14.2, "matter_db": 0.5})
    sentences = expected_losses(plan, detectable_db=3.0).sentences
    assert any("the gap might matter: more repeats" in sentence for sentence in sentences)


def test_warnings_of_trim_mismatch_cover_and_height():
    covered = {**COPPER, "name": "covered", "insulation_mm": 0.8, "swr": 2.0}
    expected = expected_losses(plan_of({**COPPER, "swr": 1.1}, covered, STEEL, radio={"height_m": 3}))
    assert {notice.code for notice in expected.warnings} >= {"resonates-short", "cover-not-in-physics", "low-dipole"}
    two = expected_losses(plan_of({**COPPER, "swr": 1.1}, {**ALUMINIUM, "swr": 2.0}))
    assert [notice.code for notice in two.warnings] == ["mismatch-larger-than-gap"]


def test_curves_over_frequency_pass_through_the_plans_own_point():
    plan = plan_of(COPPER, GALVANISED, {"name": "unknown"})
    curves = loss_curves(plan, [1.8, 14.2, 30.0])
    expected = expected_losses(plan)
    assert curves.names == ("copper", "galvanised")
    assert curves.loss_db[1].tolist() == pytest.approx([expected.candidate(n).conductor_loss_db for n in curves.names])
    assert (curves.low_db <= curves.loss_db).all() and (curves.loss_db <= curves.high_db).all()
    assert curves.loss_db[0, 1] > 3 * curves.loss_db[2, 1], "a thin plating that is fine high up fails low down"
    assert loss_curves(plan_of({"name": "a"}, {"name": "b"}), [7.0]).loss_db.shape == (1, 0)
