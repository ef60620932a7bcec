"""The tabulated ratios against scipy's Bessel functions (which wrap Amos' algorithm 644) and known limits."""

import numpy as np
import pytest
from scipy.special import iv, ive, kv, kve

from antexp.radio.bessel_ratios import RAY, bessel_ratios


def test_against_bessel_functions_of_complex_argument():
    x = np.exp(np.linspace(np.log(1e-4), np.log(3e4), 50_001))
    z = x * RAY
    p, r, s = bessel_ratios(x)
    np.testing.assert_allclose(p, ive(1, z) / ive(0, z), rtol=1e-12)
    np.testing.assert_allclose(r, kve(0, z) / kve(1, z), rtol=1e-12)
    np.testing.assert_allclose(s, kve(1, z) / ive(1, z) * np.exp(1j * z.imag), rtol=1e-12)


def test_unscaled_where_nothing_overflows():
    x = np.array([0.01, 0.5, 3.0, 20.0])
    z = x * RAY
    np.testing.assert_allclose(bessel_ratios(x)[2], np.exp(2 * z) * kv(1, z) / iv(1, z), rtol=1e-12)


def test_far_beyond_the_table():
    p, r, s = bessel_ratios(np.array([1e12, np.inf]))
    # A&S 9.7.1, 9.7.2: both ratios tend to 1 and K1/I1·e^{2z} to π
    np.testing.assert_allclose(p, 1.0, atol=1e-12)
    np.testing.assert_allclose(r, 1.0, atol=1e-12)
    np.testing.assert_allclose(s, np.pi, rtol=1e-11)


def test_no_seam_at_the_ends_of_the_table():
    for edge in (1e-3, 1e5):
        for ratio in bessel_ratios(edge * np.array([1 - 1e-12, 1 + 1e-12])):
            assert ratio[1] == pytest.approx(ratio[0], rel=1e-11)


def test_missing_stays_missing():
    for ratio in bessel_ratios(np.array([np.nan, 1.0])):
        assert np.isnan(ratio[0]) and np.isfinite(ratio[1])
