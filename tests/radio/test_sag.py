"""Sag: the catenary, its parabola, and gravity."""

import numpy as np
import pytest
from scipy.integrate import quad

from antexp.radio import sag


def test_parabola_worked_by_hand():
    # copper of 2 mm: 28 g/m is 0.2746 N/m; 20 m at 50 N: 0.2746·400/400 = 0.2746 m
    assert sag.parabola_sag_m(28.0, 20.0, 50.0) == pytest.approx(0.27459, abs=1e-4)


def test_the_parabola_is_the_taut_limit_of_the_catenary():
    tension = np.array([2.0, 10.0, 100.0, 1e6])
    ratio = sag.catenary_sag_m(30.0, 20.0, tension) / sag.parabola_sag_m(30.0, 20.0, tension)
    # next term of cosh: 1 + (wL/2T)²/12
    slack = sag.weight_n_per_m(30.0) * 20.0 / (2 * tension)
    np.testing.assert_allclose(ratio[1:], 1 + slack[1:] ** 2 / 12, rtol=1e-4)
    assert ratio[0] > 1.1


def test_the_catenary_solves_its_own_integral():
    mass, span, tension = 30.0, 20.0, 5.0
    weight = sag.weight_n_per_m(mass)
    length = quad(lambda x: np.sqrt(1 + np.sinh(weight * x / tension) ** 2), -span / 2, span / 2)[0]
    assert sag.catenary_length_m(mass, span, tension) == pytest.approx(length, rel=1e-9)
    # textbook identity: the length of a shallow arc is L + 8s²/3L
    depth = sag.catenary_sag_m(mass, span, 50.0)
    assert sag.catenary_length_m(mass, span, 50.0) - span == pytest.approx(8 * depth**2 / (3 * span), rel=1e-2)


def test_the_centre_of_current_hangs_at_four_fifths_of_the_sag():
    weighted = quad(lambda u: np.cos(np.pi * u) * (1 - 4 * u**2), -0.5, 0.5)[0] / (2 / np.pi)
    assert sag.height_lost_m(1.0) == pytest.approx(weighted, rel=1e-12)
