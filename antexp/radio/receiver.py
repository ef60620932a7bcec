"""The receiving end: noise, and what it does to a reading in decibels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import exp1

from antexp.decibels import DB_PER_POWER_FRACTION, db_to_power_ratio, power_ratio_to_db, watt_to_dbm
from antexp.radio.constants import BOLTZMANN, REFERENCE_TEMPERATURE, Constant, exact

Floats = NDArray[np.float64]

NOISE_SOURCE = "ITU-R P.372, median of F_a = c − d·log10 f(MHz) for a short vertical over perfect ground"


@dataclass(frozen=True)
class NoiseEnvironment:
    """The noise that the surroundings make.

    Attributes
    ----------
    name : str
    c, d : Constant
        dB, of F_a = c − d·log10 f(MHz).
    """

    name: str
    c: Constant
    d: Constant


def _environment(name: str, c: float, d: float, spread: float) -> NoiseEnvironment:
    return NoiseEnvironment(
        name,
        Constant(f"{name} noise: c", c, c - spread, c + spread, "dB",
                 f"{NOISE_SOURCE}; range: spread over places and hours, from memory", "standard"),
        exact(f"{name} noise: d", d, "dB", NOISE_SOURCE))


NOISE: dict[str, NoiseEnvironment] = {place.name: place for place in (
    _environment("city", 76.8, 27.7, 10.0),
    _environment("residential", 72.5, 27.7, 10.0),
    _environment("rural", 67.2, 27.7, 10.0),
    _environment("quiet rural", 53.6, 28.6, 10.0),
    _environment("galactic", 52.0, 23.0, 2.0),
)}
"""Noise environments by the names of the recommendation; galactic noise counts above about 10 MHz only."""

RECEIVER_CONSTANTS = tuple(value for place in NOISE.values() for value in (place.c, place.d))
"""What this module takes from outside."""


def thermal_noise_dbm(bandwidth_hz: ArrayLike, temperature_k: ArrayLike = REFERENCE_TEMPERATURE.value) -> Floats:
    """Return kTB in dBm: −173.98 in 1 Hz at 290 K."""
    return watt_to_dbm(BOLTZMANN.value * np.asarray(temperature_k, float) * np.asarray(bandwidth_hz, float))


def external_noise_figure_db(frequency_mhz: ArrayLike, name: str) -> Floats:
    """Return the median external noise figure F_a of an environment.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
        0.3 … 250 by the recommendation.
    name : str
        A key of `NOISE`.

    Returns
    -------
    ndarray, dB
        c − d·log10 f(MHz), above kT0B.

    References
    ----------
    ITU-R P.372, table of c and d.
    """
    place = NOISE[name]
    return place.c.value - place.d.value * np.log10(np.asarray(frequency_mhz, float))


def noise_level_dbm(frequency_mhz: ArrayLike, bandwidth_hz: ArrayLike, name: str) -> Floats:
    """Return the noise power in a bandwidth from an environment (or kTB alone if that were more), in dBm."""
    figure = np.maximum(external_noise_figure_db(frequency_mhz, name), 0.0)
    return thermal_noise_dbm(bandwidth_hz) + figure


def reading_scatter_db(signal_to_noise_db: ArrayLike) -> Floats:
    """Return the standard deviation of one unaveraged reading of a carrier in noise.

    Parameters
    ----------
    signal_to_noise_db : array_like, dB
        In the meter's bandwidth.

    Returns
    -------
    ndarray, dB
        4.343·√(1 + 2g)/(1 + g), first order; below 10 dB the true scatter is larger (5.57 dB without a carrier).
    """
    g = db_to_power_ratio(signal_to_noise_db)
    return DB_PER_POWER_FRACTION * np.sqrt(1 + 2 * g) / (1 + g)


def power_mean_bias_db(signal_to_noise_db: ArrayLike) -> Floats:
    """Return by how much noise raises a mean of powers: 10·log10(1 + 1/g), in dB."""
    return power_ratio_to_db(1.0 + db_to_power_ratio(-np.asarray(signal_to_noise_db, float)))


def reading_mean_bias_db(signal_to_noise_db: ArrayLike) -> Floats:
    """Return by how much noise raises a mean of dB readings: 4.343·E1(g), in dB, exactly.

    Notes
    -----
    The logarithm of a noncentral χ² of two degrees of freedom has mean ln g + E1(g) above the noise.
    """
    return DB_PER_POWER_FRACTION * exp1(db_to_power_ratio(signal_to_noise_db))


def rounding_sd_db(step_db: ArrayLike) -> Floats:
    """Return the standard deviation of the rounding to a step, q/√12 (GUM 4.3.7), in dB."""
    return np.asarray(step_db, float) / np.sqrt(12.0)
