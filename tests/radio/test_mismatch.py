"""Mismatch against the SWR tables of radio practice, Harris & Warner's treatment and the GUM."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from antexp.radio import mismatch


def test_swr_table():
    # mismatch loss table of SWR, as in any radio handbook
    swr = [1.0, 1.1, 1.5, 2.0, 3.0, 5.0, 10.0]
    loss_db = [0.0, 0.010, 0.177, 0.512, 1.249, 2.553, 4.807]
    assert mismatch.mismatch_loss_from_swr_db(swr) == pytest.approx(loss_db, abs=6e-4)
    assert mismatch.reflection_from_swr([1.5, 2.0, 3.0]) == pytest.approx([0.2, 1 / 3, 0.5])
    assert mismatch.reflection_from_swr(np.inf) == 1.0 and mismatch.mismatch_loss_from_swr_db(np.inf) == np.inf


@given(st.floats(0, 0.999))
def test_swr_and_reflection_there_and_back(magnitude):
    assert mismatch.reflection_from_swr(mismatch.swr_from_reflection(magnitude)) == pytest.approx(magnitude, abs=1e-12)


def test_an_swr_below_one_is_refused():
    with pytest.raises(ValueError, match=r"SWR is below 1: got 0.9; allowed 1 and more"):
        mismatch.mismatch_loss_from_swr_db([1.2, 0.9])


def test_missing_stays_missing():
    assert np.isnan(mismatch.mismatch_loss_from_swr_db([np.nan, 2.0])[0])
    assert np.isnan(mismatch.mismatch_loss_db(50.0, complex(np.nan, 0.0)))


def test_complex_source_and_load():
    # conjugate match passes all; 50 Ω into 100 Ω and into 25 Ω is SWR 2
    assert mismatch.mismatch_factor(50 - 20j, 50 + 20j) == pytest.approx(1.0)
    assert mismatch.mismatch_loss_db(50.0, [100.0, 25.0]) == pytest.approx([0.5115, 0.5115], abs=1e-4)
    # by hand: 4·50·62/|112 + 9j|² = 12400/12625
    assert mismatch.mismatch_factor(50.0, 62 + 9j) == pytest.approx(12400 / 12625)


@given(st.complex_numbers(min_magnitude=1, max_magnitude=1e4), st.complex_numbers(min_magnitude=1, max_magnitude=1e4))
def test_power_reflection_is_what_does_not_arrive(source, load):
    source, load = complex(abs(source.real) + 1, source.imag), complex(abs(load.real) + 1, load.imag)
    arrives = mismatch.mismatch_factor(source, load)
    assert 1 - abs(mismatch.power_reflection(source, load)) ** 2 == pytest.approx(arrives, abs=1e-9)
    assert mismatch.mismatch_factor(load, source) == pytest.approx(arrives), "reciprocity"


def test_a_negative_resistance_is_refused():
    with pytest.raises(ValueError, match="resistance of a source or load is negative"):
        mismatch.mismatch_factor(50.0, -5 + 2j)


def test_unknown_phase_as_the_emc_standards_have_it():
    # CISPR 16-4-2: antenna and receiver of SWR 2:1 each: +0.9/−1.0 dB, U-shaped (from memory)
    low, high = mismatch.unknown_phase_limits_db(1 / 3, 1 / 3)
    assert (round(float(high), 1), round(float(low), 1)) == (0.9, -1.0)
    # its half width over √2; the standard rounds the limits first, hence 0.02
    assert mismatch.unknown_phase_uncertainty_db(1 / 3, 1 / 3) == pytest.approx((0.9 + 1.0) / 2 / np.sqrt(2), abs=0.02)


def test_unknown_phase_uncertainty_against_all_phases():
    # Harris & Warner 1981: the arcsine distribution; here by simulation of the exact formula
    phase = np.linspace(0, 2 * np.pi, 10_001)[:-1]
    product = 0.2 * 0.091
    level_db = 20 * np.log10(np.abs(1 - product * np.exp(1j * phase)))
    assert mismatch.unknown_phase_uncertainty_db(0.2, 0.091) == pytest.approx(level_db.std(), rel=1e-3)


def test_uncertainty_of_a_loss_by_monte_carlo():
    # GUM supplement 1 (JCGM 101): propagate the distribution itself
    random = np.random.default_rng(1)
    u = 0.03
    for magnitude in (0.0, 0.05, 0.2, 0.5):
        x, y = magnitude + u * random.standard_normal(200_000), u * random.standard_normal(200_000)
        spread = (-10 * np.log10(1 - x**2 - y**2)).std()
        # two orders of the Taylor series and 200 000 draws: 3 %
        assert mismatch.mismatch_loss_uncertainty_db(magnitude, u) == pytest.approx(spread, rel=0.03)


def test_a_line_hides_a_bad_antenna():
    # textbook: 3 dB of line makes an open circuit look like SWR 3.0
    assert mismatch.swr_through_line(np.inf, 3.0103) == pytest.approx(3.0, abs=1e-4)
    assert mismatch.swr_through_line(2.5, 0.0) == pytest.approx(2.5)
    assert mismatch.swr_at_load(mismatch.swr_through_line(2.5, 1.2), 1.2) == pytest.approx(2.5)
    assert np.isnan(mismatch.swr_at_load(5.0, 3.0)), "no load looks that bad through 3 dB"
