"""Exposure distance against the ICNIRP 2020 reference levels."""

import numpy as np
import pytest

from antexp.radio.exposure import exposure_distance_m, field_limit_v_per_m


def test_reference_levels():
    # ICNIRP 2020, general public, whole body: 300/f^0.7 V/m to 30 MHz, 27.7 V/m to 400 MHz
    assert field_limit_v_per_m([1.0, 30.0, 145.0]) == pytest.approx([300.0, 27.7, 27.7], abs=0.1)
    assert np.isnan(field_limit_v_per_m(430.0))


def test_a_hundred_watts_into_a_dipole():
    # by hand: 2·√(30·100·1.64)/(300/14.2^0.7) = 140.3/46.8
    assert exposure_distance_m(100.0, 2.15, 14.2) == pytest.approx(3.0, abs=0.05)


def test_distance_goes_with_the_root_of_power():
    assert exposure_distance_m(400.0, 0.0, 7.0) == pytest.approx(2 * exposure_distance_m(100.0, 0.0, 7.0))
