"""Ratios, decibels, dBm and S units. A missing value stays missing: NaN in, NaN out, never a believable number.

A ratio that cannot exist (a negative power) becomes NaN and a ratio of nothing becomes −inf; both are visible
downstream, where a floor of, say, −100 dB would not be.
"""

from __future__ import annotations

import math
import re

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

DB_PER_NEPER = 20.0 / np.log(10.0)
"""Decibels of one neper, 8.686: a relative change δ of an amplitude is 8.686·δ dB."""

DB_PER_POWER_FRACTION = 10.0 / np.log(10.0)
"""Decibels of a relative change of power, 4.343: a relative change δ of a power is 4.343·δ dB."""

S9_DBM_BELOW_30_MHZ = -73.0
"""Available power of an S9 signal below 30 MHz (IARU Region 1 Technical Recommendation R.1)."""

S9_DBM_ABOVE_144_MHZ = -93.0
"""Available power of an S9 signal above 144 MHz (IARU Region 1 Technical Recommendation R.1)."""

DB_PER_S_UNIT = 6.0
"""Decibels of one S unit (IARU Region 1 Technical Recommendation R.1)."""

_S_READING = re.compile(r"^\s*[sS]\s*([0-9])\s*(?:\+\s*([0-9]+(?:\.[0-9]*)?)\s*(?:dB|db|DB)?)?\s*$")


def power_ratio_to_db(ratio: ArrayLike) -> Floats:
    """Return 10·log10 of a power ratio; 0 gives −inf, a negative ratio or NaN gives NaN."""
    return 10.0 * _log10(ratio)


def db_to_power_ratio(level_db: ArrayLike) -> Floats:
    """Return the power ratio of a difference in dB."""
    return np.power(10.0, np.asarray(level_db, float) / 10.0)


def amplitude_ratio_to_db(ratio: ArrayLike) -> Floats:
    """Return 20·log10 of an amplitude ratio; 0 gives −inf, a negative ratio or NaN gives NaN."""
    return 20.0 * _log10(ratio)


def watt_to_dbm(power_w: ArrayLike) -> Floats:
    """Return a power in watt as dBm, decibels over one milliwatt."""
    return power_ratio_to_db(np.asarray(power_w, float) * 1e3)


def dbm_to_watt(level_dbm: ArrayLike) -> Floats:
    """Return a level in dBm as power in watt."""
    return db_to_power_ratio(level_dbm) * 1e-3


def s9_dbm(frequency_mhz: ArrayLike) -> Floats:
    """Return the level of S9 in dBm.

    Parameters
    ----------
    frequency_mhz : array_like, MHz

    Returns
    -------
    ndarray, dBm
        −73 up to 30 MHz, −93 above 144 MHz; NaN between, where the recommendation is silent.

    References
    ----------
    IARU Region 1 Technical Recommendation R.1, "Standardisation of S-meter readings", Brighton 1981, Torremolinos 1990.
    """
    frequency = np.asarray(frequency_mhz, float)
    high = np.where(frequency >= 144.0, S9_DBM_ABOVE_144_MHZ, np.nan)
    return np.where(frequency <= 30.0, S9_DBM_BELOW_30_MHZ, high)


def nearest_s9_dbm(frequency_mhz: float) -> float:
    """Return the level of S9 in dBm, between 30 and 144 MHz that of the higher bands (common practice, no source)."""
    return float(s9_dbm(frequency_mhz if frequency_mhz <= 30.0 else 144.0))


def s_units_to_db(s_units: ArrayLike, over_db: ArrayLike = 0.0) -> Floats:
    """Return an S reading as dB relative to S9: 6 dB a unit below it, plain decibels above.

    Parameters
    ----------
    s_units : array_like
        0 … 9.
    over_db : array_like, dB
        What the meter showed over S9.

    Returns
    -------
    ndarray, dB
        0 for S9, −12 for S7, +10 for S9+10.
    """
    return (np.asarray(s_units, float) - 9.0) * DB_PER_S_UNIT + np.asarray(over_db, float)


def read_s_units(text: str) -> float:
    """Return a written S reading as dB relative to S9.

    Parameters
    ----------
    text : str
        ``"S7"``, ``"s9"``, ``"S9+10"``, ``"S9 + 20 dB"``.

    Returns
    -------
    float, dB
        NaN for an empty text.

    Raises
    ------
    ValueError
        When the text is something else, or adds decibels to less than S9.
    """
    if not text.strip():
        return float("nan")
    match = _S_READING.match(text)
    if match is None:
        raise ValueError(f"not an S reading: got {text.strip()!r}; allowed S0 to S9, or S9+10 and the like")
    units, over = int(match[1]), float(match[2] or 0.0)
    if over and units < 9:
        raise ValueError(f"decibels are added to S9 only: got {text.strip()!r}; allowed S9+10 and the like")
    return float(s_units_to_db(units, over))


def reading_variance_db2(reading_sd_db: float, readings: int, step_db: float | None) -> float:
    """Return the variance that readings and their rounding give the mean level of one hanging, dB².

    Parameters
    ----------
    reading_sd_db, step_db : float, dB
        Scatter of single readings, and the display's step; no step is None.
    readings : int
        How many make the mean.

    Notes
    -----
    Rounding to a step q has the variance q²/12. It averages out over readings only where they scatter by at least
    q/2; else every reading of a hanging is rounded alike, and it belongs to the hanging (method section 9).
    """
    rounding = 0.0 if step_db is None else step_db**2 / 12.0
    averages_out = step_db is None or reading_sd_db >= step_db / 2.0
    return reading_sd_db**2 / readings + (rounding / readings if averages_out else rounding)


def signed_db(value_db: float) -> str:
    """Write a gap for a sentence: two digits after the point, its sign with a true minus, no minus before a zero."""
    return f"{round(value_db, 2) + 0.0:+.2f}".replace("-", "−")


def rounded_up_db(value_db: float) -> float:
    """Return a spread to two digits after the point, never below what it is."""
    if not math.isfinite(value_db):
        return value_db
    return math.ceil(round(100.0 * value_db, 6)) / 100.0  # no digit up for a rounding error


def bound_db(value_db: float) -> str:
    """Write a size after words such as "at most": rounded up to two digits after the point, at least 0.01."""
    if not math.isfinite(value_db):
        return "an unknown number of dB"
    return f"{max(0.01, math.ceil(100.0 * abs(value_db) - 1e-9) / 100.0):.2f} dB"  # no digit up for a rounding error


def _log10(ratio: ArrayLike) -> Floats:
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.log10(np.asarray(ratio, float))
