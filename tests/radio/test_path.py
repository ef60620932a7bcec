"""The path against ITU-R P.525, Fresnel's formulas, and the handbook curve of the surface wave."""

import numpy as np
import pytest

from antexp.radio import path


def test_free_space_loss_of_the_recommendation():
    # ITU-R P.525: 32.4 + 20 log f + 20 log d, rounded to a tenth
    frequency_mhz, distance_km = np.array([1.8, 14.2, 145.0]), np.array([0.5, 1.0, 30.0])
    rounded = 32.4 + 20 * np.log10(frequency_mhz) + 20 * np.log10(distance_km)
    assert path.free_space_loss_db(frequency_mhz, distance_km * 1e3) == pytest.approx(rounded, abs=0.05)


def test_far_field_takes_the_largest_rule():
    # 10 MHz, 20 m: 2D²/λ = 26.7, 5D = 100, 1.6λ = 48; large arrays: 2D²/λ
    assert path.far_field_distance_m(10.0, [20.0, 0.1, 200.0]) == pytest.approx([100.0, 47.97, 2668.5], rel=1e-3)
    assert path.size_with_image_m(10.0, 9.0, "horizontal") == pytest.approx(np.hypot(10, 18))
    assert path.size_with_image_m(7.0, 5.5, "vertical") == pytest.approx(18.0)


def test_complex_permittivity_is_the_engineers_formula():
    # 60·λ·σ (any handbook) is σ/(ωε0)
    epsilon = path.complex_permittivity(10.0, 30.0, 0.01)
    assert epsilon == pytest.approx(30 - 60j * 29.98 * 0.01, rel=2e-3)


def test_fresnel_reflection_at_its_landmarks():
    epsilon = 4.0
    # normal incidence (1 − n)/(1 + n) and its opposite sign for the vertical component; grazing −1; Brewster 0
    assert path.fresnel_reflection(np.pi / 2, epsilon, "horizontal") == pytest.approx(-1 / 3)
    assert path.fresnel_reflection(np.pi / 2, epsilon, "vertical") == pytest.approx(1 / 3)
    for polarisation in ("horizontal", "vertical"):
        assert path.fresnel_reflection(0.0, epsilon, polarisation) == pytest.approx(-1.0)
    brewster_grazing = np.arctan(1 / np.sqrt(epsilon))
    assert abs(path.fresnel_reflection(brewster_grazing, epsilon, "vertical")) < 1e-12
    assert path.fresnel_reflection(0.3, 1 - 1e12j, "vertical") == pytest.approx(1.0, abs=1e-4)
    assert path.fresnel_reflection(0.3, 1 - 1e12j, "horizontal") == pytest.approx(-1.0, abs=1e-4)


def test_reflection_never_gains():
    angle = np.linspace(0, np.pi / 2, 91)[:, None]
    epsilon = path.complex_permittivity(7.0, [30.0, 15.0, 3.0], [1e-2, 1e-3, 1e-4])
    for polarisation in ("horizontal", "vertical"):
        assert (np.abs(path.fresnel_reflection(angle, epsilon, polarisation)) <= 1 + 1e-12).all()


@pytest.mark.parametrize("distance_m", [300.0, 3e3, 3e4, 3e5])
def test_surface_wave_against_the_handbook_curve(distance_m):
    # Terman, Radio Engineers' Handbook, after Norton 1936: with numerical distance p and phase b,
    # A = (2 + 0.3p)/(2 + p + 0.6p²) − sin b·√(p/2)·e^{−5p/8}; an empirical fit, some 10 % off where p > 1
    epsilon = complex(path.complex_permittivity(1.0, 10.0, 0.01))
    p = np.pi * distance_m / 299.792458 / -epsilon.imag
    b = np.arctan((epsilon.real + 1) / -epsilon.imag)
    curve = (2 + 0.3 * p) / (2 + p + 0.6 * p**2) - np.sin(b) * np.sqrt(p / 2) * np.exp(-5 * p / 8)
    attenuation = np.abs(path.surface_wave_attenuation(1.0, distance_m, 0.0, epsilon))
    assert attenuation == pytest.approx(curve, rel=0.05 if p < 1 else 0.15)
    assert np.abs(path.plane_earth_factor(1.0, distance_m, 0.0, 0.0, epsilon, "vertical")) == pytest.approx(
        2 * attenuation)


def test_surface_wave_far_away_falls_with_distance():
    epsilon = complex(path.complex_permittivity(1.0, 10.0, 0.01))
    # Norton: |F| → 1/(2p) for large numerical distance
    p = np.pi * 1e7 / 299.792458 / abs(epsilon)
    assert np.abs(path.surface_wave_attenuation(1.0, 1e7, 0.0, epsilon)) == pytest.approx(1 / (2 * p), rel=0.05)


def test_two_rays_over_a_perfect_mirror():
    epsilon = 1 - 1e14j
    # by hand: h = 10 m, d = 100 m, path difference √(100² + 20²) − 100; interference of two rays of opposite sign
    longer = np.hypot(100, 20) - 100
    k = 2 * np.pi * 50e6 / 299_792_458
    by_hand = abs(1 - 100 / np.hypot(100, 20) * np.exp(-1j * k * longer))
    factor = path.plane_earth_factor(50.0, 100.0, 10.0, 10.0, epsilon, "horizontal")
    assert np.abs(factor) == pytest.approx(by_hand, rel=1e-5)


def test_plane_earth_law_of_low_antennas():
    # textbook limit, grazing: 4π·h1·h2/(λd), 6 dB more for double height
    epsilon = complex(path.complex_permittivity(28.0, 15.0, 1e-3))
    factor = np.abs(path.plane_earth_factor(28.0, 2e4, np.array([5.0, 10.0]), 10.0, epsilon, "horizontal"))
    limit = 4 * np.pi * 5.0 * 10.0 / (299.792458 / 28.0 * 2e4)
    # the reflection is −1 only at grazing; wet or dry ground adds h₀ ~ λ/2π√ε, here a tenth of 5 m
    assert factor[0] == pytest.approx(limit, rel=0.25)
    assert factor[1] / factor[0] == pytest.approx(2.0, rel=0.1)


def test_slope_against_height_is_that_of_the_law():
    epsilon = complex(path.complex_permittivity(14.2, 30.0, 1e-2))
    slope = path.level_slope_db_per_m(14.2, 520.0, 9.0, 9.0, epsilon, "horizontal")
    assert slope == pytest.approx(8.686 / 9.0, rel=0.05), "level goes with height far below the first lobe"


def test_every_ground_of_the_plan_file_is_there():
    # names and values of the ground-wave curves of ITU-R P.368 and of P.527 (from memory)
    values = {name: (ground.permittivity.value, ground.conductivity_s_per_m.value)
              for name, ground in path.GROUNDS.items()}
    assert values == {"sea water": (70.0, 5.0), "fresh water": (80.0, 3e-3), "wet": (30.0, 1e-2),
                      "land": (22.0, 3e-3), "medium dry": (15.0, 1e-3), "dry": (7.0, 3e-4), "very dry": (3.0, 1e-4)}
