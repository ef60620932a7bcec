"""Length and resonance. Outside: the table of resonant lengths of thick dipoles (Stutzman & Thiele)."""

import numpy as np
import pytest

from antexp.radio import trim


def test_length_goes_with_the_inverse_of_frequency():
    assert trim.new_leg_m(5.0, 14.0, 14.2) == pytest.approx(5.0 * 14.0 / 14.2)
    # one centimetre of 5 m at 14 MHz: 14000 kHz/500
    assert trim.khz_per_cm(5.0, 14.0) == pytest.approx(28.0)


def test_starting_length_is_the_common_one():
    # common practice, no source: 143/f metres tip to tip
    assert 2 * trim.starting_leg_m(7.15) == pytest.approx(20.0)


def test_two_points_find_a_line_with_end_effect():
    def resonance(leg):
        return 71.0 / (leg + 0.12)  # a dipole with a fixed end effect

    legs = np.array([5.30, 5.10])
    new_leg, sensitivity = trim.trim_line(legs, resonance(legs), 14.2)
    assert resonance(new_leg) == pytest.approx(14.2, rel=1e-12)
    slope = (resonance(new_leg - 0.005) - resonance(new_leg + 0.005)) * 1000
    assert sensitivity == pytest.approx(slope, rel=1e-4)


def test_three_points_with_scatter_lie_between():
    new_leg, _ = trim.trim_line([5.2, 5.1, 5.0], [13.60, 13.88, 14.13], 14.2)
    assert 4.95 < new_leg < 5.0


def test_measurements_that_cannot_be_a_trim_are_refused():
    with pytest.raises(ValueError, match="needs two lengths: got one"):
        trim.trim_line([5.0, 5.0], [14.0, 14.1], 14.2)
    with pytest.raises(ValueError, match="a longer wire resonated higher"):
        trim.trim_line([5.0, 5.2], [14.0, 14.1], 14.2)


@pytest.mark.parametrize(("length_over_diameter", "resonant_length"), [(5000, 0.49), (50, 0.475), (10, 0.455)])
def test_reactance_against_resonant_lengths(length_over_diameter, resonant_length):
    # Stutzman & Thiele, Antenna Theory and Design: wire lengths required to produce a resonant dipole, 2, 5 and 9 %
    # short of a half wave. A dipole of exactly a half wave has 42.5 Ω; the model must find about that.
    frequency_mhz = 10.0
    half_wave_m = 299.792458 / frequency_mhz / 2
    resonance_mhz = frequency_mhz * resonant_length / 0.5
    reactance = trim.detuned_reactance_ohm(resonance_mhz, frequency_mhz, half_wave_m / 2,
                                           1e3 * half_wave_m / length_over_diameter)
    # a first-order model against a rounded table: a quarter
    assert reactance == pytest.approx(42.5, rel=0.27)


def test_on_target_costs_nothing_and_off_target_costs_the_same_both_ways_nearly():
    reactance = trim.detuned_reactance_ohm([14.2, 14.0, 14.4], 14.2, 5.0, 1.5)
    assert reactance[0] == pytest.approx(0.0, abs=1e-10)
    assert reactance[1] > 0 > reactance[2], "too long is inductive"
    cost = trim.mistuning_cost_db(reactance, 70.0, 50.0)
    assert cost[0] == pytest.approx(0.0, abs=1e-12)
    assert cost[1] == pytest.approx(cost[2], rel=0.1)


def test_a_vertical_has_half_the_reactance():
    whole = trim.detuned_reactance_ohm(14.0, 14.2, 5.0, 1.5)
    assert trim.detuned_reactance_ohm(14.0, 14.2, 5.0, 1.5, monopole=True) == pytest.approx(whole / 2)
