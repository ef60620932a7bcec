"""Skin depth and solid wire against the classic tables."""

import numpy as np
import pytest

from antexp.radio.conductors import (
    direct_current_resistance_ohm_per_m,
    resistance_ratio,
    skin_depth_m,
    solid_wire_impedance_ohm_per_m,
    surface_resistance_ohm,
)

COPPER = 1 / 58e6

# Skin-effect table of Rosa & Grover (1912) and NBS Circular 74 (1924), as reprinted in Terman, Radio Engineers'
# Handbook; four digits, from memory, confirmed by computation.
CLASSIC_TABLE = {0.5: 1.0003, 1.0: 1.005, 1.5: 1.026, 2.0: 1.078, 2.5: 1.175, 3.0: 1.318, 4.0: 1.678, 5.0: 2.043,
                 10.0: 3.799, 20.0: 7.328, 50.0: 17.93, 100.0: 35.61}
# Four more digits of the same table at the four arguments that are quoted most
FINE_TABLE = {1.0: 1.0052, 2.0: 1.0782, 5.0: 2.0427, 10.0: 3.7986}


def test_classic_skin_effect_table():
    # a unit of the last printed digit, for the table rounds either way
    for table, tolerance in ((CLASSIC_TABLE, 5e-4), (FINE_TABLE, 5e-5)):
        np.testing.assert_allclose(resistance_ratio(list(table)), list(table.values()), rtol=tolerance)


def test_direct_current_and_high_frequency_limits_of_the_ratio():
    assert resistance_ratio(0.0) == 1.0
    # Ramo, Whinnery & Van Duzer 4.5: 1 + x⁴/192 at low, x/(2√2) + 1/4 at high frequency
    assert resistance_ratio(0.3) == pytest.approx(1 + 0.3**4 / 192, abs=1e-7)
    assert resistance_ratio(1000.0) == pytest.approx(1000 / (2 * np.sqrt(2)) + 0.25, rel=1e-6)


@pytest.mark.parametrize(("metre_root_hertz", "conductivity", "permeability"), [
    # Ramo, Whinnery & Van Duzer, table of skin depth δ = c/√f: silver, copper, aluminium, brass
    (0.0642, 6.17e7, 1), (0.0660, 5.80e7, 1), (0.0826, 3.72e7, 1), (0.127, 1.57e7, 1),
])
def test_textbook_skin_depths(metre_root_hertz, conductivity, permeability):
    depth = skin_depth_m(1.0, 1 / conductivity, permeability)
    assert depth * 1e3 == pytest.approx(metre_root_hertz, rel=4e-3)  # three printed digits


def test_copper_at_power_and_radio_frequency():
    # the textbook figures: 8.5 mm at 60 Hz, 66 µm at 1 MHz, 2.1 µm at 1 GHz
    assert skin_depth_m([60e-6, 1.0, 1000.0], COPPER) == pytest.approx([8.53e-3, 66.1e-6, 2.09e-6], rel=2e-3)
    assert surface_resistance_ohm(1.0, COPPER) == pytest.approx(2.61e-4, rel=2e-3)  # 2.61e-7·√f, Ramo et al.


def test_permeability_counts_like_resistivity_at_the_surface():
    assert surface_resistance_ohm(7.0, 1e-7, 100.0) == pytest.approx(surface_resistance_ohm(7.0, 1e-5, 1.0))


def test_direct_current_wire():
    # copper of 1 mm²: 17.24 Ω/km (IEC 60028)
    diameter_mm = 2 / np.sqrt(np.pi)
    assert direct_current_resistance_ohm_per_m(diameter_mm, COPPER) == pytest.approx(17.241e-3, rel=1e-4)
    assert solid_wire_impedance_ohm_per_m(0.0, diameter_mm, COPPER) == pytest.approx(17.241e-3 + 0j, rel=1e-4)
    assert np.isinf(skin_depth_m(0.0, COPPER))


def test_low_frequency_internal_inductance_is_fifty_nanohenry_a_metre():
    # μ0/8π = 50 nH/m (any textbook)
    impedance = solid_wire_impedance_ohm_per_m(1e-5, 1.0, COPPER)
    assert impedance.imag / (2 * np.pi * 10.0) == pytest.approx(50e-9, rel=1e-4)


def test_thick_wire_is_its_surface():
    impedance = solid_wire_impedance_ohm_per_m(30.0, 4.0, COPPER)
    flat = surface_resistance_ohm(30.0, COPPER) / (np.pi * 4e-3)
    assert impedance.real == pytest.approx(flat * (1 + 0.25 * skin_depth_m(30.0, COPPER) / 1e-3), rel=1e-4)
    assert impedance.imag == pytest.approx(flat, rel=1e-4)


def test_shapes_broadcast_and_missing_stays_missing():
    impedance = solid_wire_impedance_ohm_per_m(np.array([[1.8], [30.0]]), [1.0, np.nan, 2.0], COPPER)
    assert impedance.shape == (2, 3)
    assert np.isnan(impedance[:, 1]).all() and np.isfinite(impedance[:, [0, 2]]).all()
