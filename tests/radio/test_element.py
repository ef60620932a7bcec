"""Current distribution, radiation resistance and efficiency against textbook values."""

import numpy as np
import pytest
from scipy.integrate import quad

from antexp.radio import element
from antexp.radio.conductors import solid_wire_impedance_ohm_per_m


def test_loss_factor_at_the_textbook_lengths():
    # Balanis, Antenna Theory 2.13: half of the wire's resistance for λ/2, a third for a short dipole
    assert element.loss_factor([0.25, 1e-6]) == pytest.approx([0.5, 1 / 3], rel=1e-9)


@pytest.mark.parametrize("arm", [0.0005, 0.0017, 0.05, 0.2, 0.31])
def test_loss_factor_is_the_mean_square_of_the_current(arm):
    kh = 2 * np.pi * arm
    mean_square = quad(lambda u: np.sin(kh * (1 - u)) ** 2, 0, 1)[0] / np.sin(kh) ** 2
    assert element.loss_factor(arm) == pytest.approx(mean_square, rel=1e-6)


def test_dipole_in_space_and_beside_another():
    # 73.1 Ω alone; mutual resistance −12.5 Ω half a wavelength apart, 4.0 Ω one apart (Carter 1932; Balanis 8.6)
    assert element.mutual_resistance_ohm([0.0, 0.5, 1.0]) == pytest.approx([73.13, -12.53, 4.01], abs=0.01)


def test_dipole_over_perfect_ground():
    # textbook chart (Terman; Kraus): nothing at the ground, 98 Ω a third of a wavelength up, 58 at 0.62, 87 at 0.42
    resistance = element.dipole_resistance_over_ground_ohm([1e-5, 0.33, 0.42, 0.62])
    assert resistance == pytest.approx([0.0, 98.0, 87.0, 58.0], abs=1.0)
    assert element.dipole_resistance_over_ground_ohm(0.42, 0.0) == pytest.approx(73.13, abs=0.01)


def test_the_ranges_hold_what_the_chart_shows():
    heights = np.linspace(0.2, 3.0, 500)
    resistance = element.dipole_resistance_over_ground_ohm(heights)
    assert resistance.max() <= element.DIPOLE_RADIATION.high
    assert resistance.min() >= element.DIPOLE_RADIATION.low
    assert element.DIPOLE_RADIATION.value == pytest.approx(element.mutual_resistance_ohm(0.0), abs=0.05)
    assert element.MONOPOLE_RADIATION.value == pytest.approx(element.mutual_resistance_ohm(0.0) / 2, abs=0.1)


def test_efficiency_and_gap_tell_the_same_story():
    common = np.array([73.1, 36.5 + 12])
    loss = element.efficiency_loss_db(np.array([[5.0], [1.0]]), common)
    gap = element.gap_db(5.0, 1.0, common)
    np.testing.assert_allclose(loss[0] - loss[1], gap, rtol=1e-12)
    assert element.efficiency_loss_db(73.1, 73.1) == pytest.approx(3.0103, abs=1e-4)
    assert element.efficiency_loss_db(0.0, 50.0) == 0.0


def test_ground_loss_hides_the_wire():
    assert element.gap_db(5.0, 1.0, 36.5 + 25) < element.gap_db(5.0, 1.0, 36.5 + 4)


def test_a_copper_dipole_for_seven_megahertz():
    # worked by hand from R′ = (Rs/πd)(1 + δ/d): 2 mm copper at 7 MHz has 0.11 Ω/m, half of 21.4 m of it 1.2 Ω,
    # which is 0.07 dB of 73.1 Ω
    per_m = solid_wire_impedance_ohm_per_m(7.0, 2.0, 1 / 58e6).real
    assert per_m == pytest.approx(0.1112, rel=2e-3)
    loss_ohm = element.loss_resistance_ohm(per_m, element.wavelength_m(7.0) / 2)
    assert loss_ohm == pytest.approx(1.195, rel=5e-3)
    assert element.efficiency_loss_db(loss_ohm, 73.1) == pytest.approx(0.0704, abs=1e-3)


def test_wavelength():
    assert element.wavelength_m([1.0, 14.2]) == pytest.approx([299.792458, 21.1121], abs=1e-4)


def test_bare_steel_resonates_one_to_three_per_cent_short():
    # common practice, no source: 1 to 3 % for bare steel of 1 to 2 mm; copper a tenth of a per cent or so
    steel = solid_wire_impedance_ohm_per_m(7.0, [1.0, 2.0], 1.43e-7, 100.0).imag
    assert ((element.internal_shortening(steel, 7.0, 10.0, [1.0, 2.0]) > 0.01)
            & (element.internal_shortening(steel, 7.0, 10.0, [1.0, 2.0]) < 0.05)).all()
    copper = solid_wire_impedance_ohm_per_m(7.0, 2.0, 1 / 58e6).imag
    assert element.internal_shortening(copper, 7.0, 10.0, 2.0) < 0.002
