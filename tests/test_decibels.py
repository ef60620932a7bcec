"""Decibels and S units. Outside reference: IARU Region 1 Technical Recommendation R.1 (S9, 6 dB a unit)."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from antexp import decibels


def test_round_values_of_ratios():
    # 3.0103 dB is a factor of two in power: any table of decibels
    assert decibels.power_ratio_to_db(2.0) == pytest.approx(3.0103, abs=5e-5)
    assert decibels.amplitude_ratio_to_db([10.0, 0.5]) == pytest.approx([20.0, -6.0206], abs=5e-5)
    assert decibels.watt_to_dbm([1.0, 100.0]) == pytest.approx([30.0, 50.0])
    assert decibels.dbm_to_watt(0.0) == pytest.approx(1e-3)
    assert pytest.approx(8.685889638) == decibels.DB_PER_NEPER


@given(st.floats(-280, 280))
def test_there_and_back(level_db):
    assert decibels.power_ratio_to_db(decibels.db_to_power_ratio(level_db)) == pytest.approx(level_db, abs=1e-9)


def test_what_is_missing_stays_missing_and_nothing_is_minus_infinity():
    assert np.isnan(decibels.power_ratio_to_db([np.nan, -1.0])).all()
    assert np.isnan(decibels.amplitude_ratio_to_db(-0.5))
    assert decibels.power_ratio_to_db(0.0) == -np.inf
    assert np.isnan(decibels.db_to_power_ratio(np.nan))
    assert np.isnan(decibels.s_units_to_db(np.nan))


def test_s9_as_the_recommendation_has_it():
    # IARU Region 1 R.1: S9 is −73 dBm below 30 MHz (50 µV at 50 ohms), −93 dBm above 144 MHz (5 µV)
    assert decibels.s9_dbm([1.8, 29.7, 144.3]).tolist() == [-73.0, -73.0, -93.0]
    assert np.isnan(decibels.s9_dbm(50.0)), "the recommendation says nothing between 30 and 144 MHz"
    fifty_microvolts_dbm = decibels.watt_to_dbm((50e-6) ** 2 / 50)
    assert fifty_microvolts_dbm == pytest.approx(-73.0, abs=0.02)
    assert decibels.s9_dbm(14.0) + decibels.s_units_to_db(1) == -121.0
    assert decibels.s9_dbm(144.3) + decibels.s_units_to_db(9, 20) == -73.0


@pytest.mark.parametrize(("frequency_mhz", "s9_dbm"), [(14.2, -73.0), (30.0, -73.0), (50.3, -93.0), (432.0, -93.0)])
def test_between_the_recommendations_s9_is_that_of_the_higher_bands(frequency_mhz, s9_dbm):
    assert decibels.nearest_s9_dbm(frequency_mhz) == s9_dbm


@pytest.mark.parametrize(("text", "level_db"), [
    ("S9", 0), ("s7", -12), (" S9+10 ", 10), ("S9 + 20 dB", 20), ("S0", -54)])
def test_written_s_readings(text, level_db):
    assert decibels.read_s_units(text) == level_db


def test_an_empty_s_reading_is_missing():
    assert np.isnan(decibels.read_s_units("  "))


@pytest.mark.parametrize("text", ["S10", "9", "S9-3", "+10", "S 12", "S9+"])
def test_other_texts_are_refused(text):
    with pytest.raises(ValueError, match=r"not an S reading: got .*; allowed S0 to S9"):
        decibels.read_s_units(text)


def test_decibels_over_less_than_s9_are_refused():
    with pytest.raises(ValueError, match=r"added to S9 only: got 'S7\+10'"):
        decibels.read_s_units("S7+10")


@pytest.mark.parametrize(("value_db", "text"), [
    (0.0, "0.01 dB"), (6e-12, "0.01 dB"), (0.01, "0.01 dB"), (-0.0101, "0.02 dB"), (0.25, "0.25 dB"),
    (1.999, "2.00 dB"), (float("nan"), "an unknown number of dB"), (float("inf"), "an unknown number of dB")])
def test_a_bound_is_never_below_what_it_bounds(value_db, text):
    assert decibels.bound_db(value_db) == text


@pytest.mark.parametrize(("value_db", "up_db"), [(0.331, 0.34), (0.33, 0.33), (0.1 + 0.2, 0.3), (0.0, 0.0),
                                                 (np.inf, np.inf)])
def test_a_spread_is_never_written_smaller_than_it_is(value_db, up_db):
    assert decibels.rounded_up_db(value_db) == up_db
