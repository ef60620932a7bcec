"""Wind on a wire, and the catenary under its load, against standards and textbooks."""

import numpy as np
import pytest

from antexp.radio import sag, wind

KGF_N = 9.80665  # a kilogram-force is defined by standard gravity (CGPM 1901)


@pytest.mark.parametrize(("speed", "pressure"), [(22.5, 0.32e3), (25.0, 0.39e3), (27.5, 0.47e3), (30.0, 0.56e3)])
def test_velocity_pressure_of_the_wind_zones(speed, pressure):
    # DIN EN 1991-1-4/NA, wind zones 1 to 4: 22.5 m/s 0.32, 25 m/s 0.39, 27.5 m/s 0.47, 30 m/s 0.56 kN/m² (from memory);
    # printed to two digits
    assert wind.wind_pressure_pa(speed) == pytest.approx(pressure, abs=5.0)


def test_the_american_standard_writes_the_same_with_slightly_lighter_air():
    # ASCE 7, velocity pressure q = 0.613·V² Pa (from memory): air at 15 °C instead of the European 1.25 kg/m³
    assert wind.wind_pressure_pa(40.0) == pytest.approx(0.613 * 40.0**2, rel=0.025)


def test_force_on_a_wire_by_hand():
    # 30 m/s on 2 mm: 562.5 Pa · 1.2 · 0.002 m
    assert wind.wind_force_n_per_m(30.0, 2.0) == pytest.approx(1.35)


def test_textbook_line_in_still_air():
    # Mehta & Mehta, Principles of Power System, chapter on overhead lines (from memory): 680 kg/km, span 260 m,
    # ultimate strength 3100 kg, safety factor 2: sag 3.7 m
    assert sag.parabola_sag_m(680.0, 260.0, 3100 / 2 * KGF_N) == pytest.approx(3.7, abs=0.05)
    assert sag.catenary_sag_m(680.0, 260.0, 3100 / 2 * KGF_N) == pytest.approx(3.7, abs=0.05)


def test_textbook_line_in_wind():
    # the same book (from memory): 1.98 kg/m, wind 1.5 kg/m, span 150 m, tension 2000 kg: slant sag 3.48 m, vertical
    # sag 2.77 m
    tilted, vertical = wind.sag_in_wind_m(1980.0, 150.0, 2000 * KGF_N, 1.5 * KGF_N)
    assert wind.loaded_n_per_m(1980.0, 1.5 * KGF_N) == pytest.approx(2.48 * KGF_N, rel=2e-3)
    # the book takes the parabola and rounds the load to 2.48
    assert tilted == pytest.approx(3.48, abs=0.02)
    assert vertical == pytest.approx(2.77, abs=0.02)


def test_textbook_weight_of_a_span():
    # a published worked example (course text on overhead lines, example 2.5.1): ultimate strength 5758 kg, safety
    # factor 2, span 250 m, sag 2 m: the conductor of the span weighs 184.29 kg
    pull = 5758 / 2 * KGF_N
    mass = 2.0 * 8 * (5758 / 2) / 250**2 * 1e3
    assert sag.tension_for_sag_n(mass, 250.0, 2.0) == pytest.approx(pull, rel=2e-4)  # parabola against catenary
    assert mass * 1e-3 * sag.catenary_length_m(mass, 250.0, pull) == pytest.approx(184.29, abs=0.01)


def test_tension_for_sag_undoes_the_catenary():
    tension = np.geomspace(0.05, 1e5, 40)
    depth = sag.catenary_sag_m(30.0, 20.0, tension)
    held = (depth > 0) & (depth <= 200.0)
    assert held.sum() > 30
    np.testing.assert_allclose(sag.tension_for_sag_n(30.0, 20.0, depth[held]), tension[held], rtol=1e-9)
    assert np.isnan(sag.tension_for_sag_n(30.0, 20.0, [-1.0, 0.0, 201.0])).all()


def test_the_pull_at_a_support_carries_half_the_wire():
    # closed form of the catenary: support pull² = horizontal² + (half the weight)²
    mass, span, tension = 30.0, 20.0, 3.0
    half = sag.weight_n_per_m(mass) * sag.catenary_length_m(mass, span, tension) / 2
    assert sag.support_tension_n(mass, span, tension) == pytest.approx(np.hypot(tension, half), rel=1e-12)
    # and it exceeds the horizontal pull by weight times sag
    extra = sag.weight_n_per_m(mass) * sag.catenary_sag_m(mass, span, tension)
    assert sag.support_tension_n(mass, span, tension) - tension == pytest.approx(extra, rel=1e-12)


def test_between_fast_ends_the_curve_is_kept():
    # the loaded wire of the same length and span hangs through as far, in a tilted plane: its pull solves the catenary
    mass, span, tension = 7.0, 20.0, 20.0
    push = wind.wind_force_n_per_m(25.0, 1.0)
    load_as_mass = wind.loaded_n_per_m(mass, push) / sag.GRAVITY.value * 1e3
    pull = sag.tension_for_sag_n(load_as_mass, span, sag.catenary_sag_m(mass, span, tension))
    assert wind.tension_in_wind_n(mass, span, tension, push) == pytest.approx(
        sag.support_tension_n(load_as_mass, span, pull), rel=1e-9)
    assert wind.tension_in_wind_n(mass, span, tension, 0.0) == sag.support_tension_n(mass, span, tension)
