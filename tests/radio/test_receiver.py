"""Noise and readings against ITU-R P.372 and simulation of the exact statistics."""

import numpy as np
import pytest

from antexp.radio import receiver


def test_thermal_noise():
    # −174 dBm in 1 Hz at 290 K: any textbook
    assert receiver.thermal_noise_dbm([1.0, 300.0]) == pytest.approx([-173.975, -149.204], abs=1e-3)


@pytest.mark.parametrize(("name", "at_1_mhz", "at_10_mhz"), [
    # ITU-R P.372, table of c and d: c at 1 MHz, c − d at 10 MHz
    ("city", 76.8, 49.1), ("residential", 72.5, 44.8), ("rural", 67.2, 39.5), ("quiet rural", 53.6, 25.0),
    ("galactic", 52.0, 29.0),
])
def test_man_made_noise(name, at_1_mhz, at_10_mhz):
    assert receiver.external_noise_figure_db([1.0, 10.0], name) == pytest.approx([at_1_mhz, at_10_mhz])


def test_noise_level_is_external_over_thermal():
    assert receiver.noise_level_dbm(10.0, 300.0, "rural") == pytest.approx(-149.204 + 39.5, abs=1e-3)
    assert receiver.noise_level_dbm(900.0, 1.0, "quiet rural") == pytest.approx(-173.975, abs=1e-3)


def carrier_readings(signal_to_noise_db, count=400_000):
    """Return simulated dB readings of a carrier in complex Gaussian noise of unit power, relative to the carrier."""
    random = np.random.default_rng(7)
    g = 10 ** (signal_to_noise_db / 10)
    noise = (random.standard_normal(count) + 1j * random.standard_normal(count)) / np.sqrt(2)
    return np.abs(1 + noise / np.sqrt(g)) ** 2


@pytest.mark.parametrize("signal_to_noise_db", [12.0, 20.0, 30.0])
def test_scatter_of_readings_by_simulation(signal_to_noise_db):
    readings_db = 10 * np.log10(carrier_readings(signal_to_noise_db))
    # first order: 10 % at 12 dB, better above
    assert receiver.reading_scatter_db(signal_to_noise_db) == pytest.approx(readings_db.std(), rel=0.1)


@pytest.mark.parametrize("signal_to_noise_db", [0.0, 6.0, 20.0])
def test_bias_of_means_by_simulation(signal_to_noise_db):
    powers = carrier_readings(signal_to_noise_db)
    # Monte Carlo error of 400 000 draws is below 0.01 dB
    assert receiver.power_mean_bias_db(signal_to_noise_db) == pytest.approx(10 * np.log10(powers.mean()), abs=0.03)
    assert receiver.reading_mean_bias_db(signal_to_noise_db) == pytest.approx((10 * np.log10(powers)).mean(), abs=0.03)


def test_bias_without_a_carrier_is_the_logarithm_of_exponential_noise():
    # mean of ln of an exponential is −γ: the dB mean lies 2.51 dB below the power (textbook)
    g_db = -80.0
    assert receiver.power_mean_bias_db(g_db) - receiver.reading_mean_bias_db(g_db) == pytest.approx(2.507, abs=1e-3)


def test_a_display_step_scatters_like_a_rectangle():
    # GUM 4.3.7: a rectangular distribution, step over √12
    assert receiver.rounding_sd_db([0.1, 6.0]) == pytest.approx([0.02887, 1.7321], abs=1e-4)


def test_missing_stays_missing():
    assert np.isnan(receiver.reading_scatter_db(np.nan)) and np.isnan(receiver.noise_level_dbm(np.nan, 1.0, "city"))
