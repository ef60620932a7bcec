"""The distance to keep from a transmitting antenna. A first estimate; the local authority's rules decide."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.decibels import db_to_power_ratio
from antexp.radio.constants import Constant

Floats = NDArray[np.float64]

_GUIDELINES = "ICNIRP 2020 guidelines, table of whole-body reference levels"

FIELD_LIMIT_HF = Constant("exposure: general public, electric field times f(MHz)^0.7, 0.1 to 30 MHz", 300.0, 300.0,
                          300.0, "V/m", _GUIDELINES, "from memory")
FIELD_LIMIT_VHF = Constant("exposure: general public, electric field, 30 to 400 MHz", 27.7, 27.7, 27.7, "V/m",
                           _GUIDELINES, "from memory")
GROUND_REFLECTION = Constant("exposure: field raised by the ground", 2.0, 1.6, 2.0, "",
                             "2 is a perfect reflection, 1.6 is customary", "common practice, no source")

EXPOSURE_CONSTANTS = (FIELD_LIMIT_HF, FIELD_LIMIT_VHF, GROUND_REFLECTION)
"""What this module takes from outside."""


def field_limit_v_per_m(frequency_mhz: ArrayLike) -> Floats:
    """Return the reference level of the electric field for the general public; NaN above 400 MHz.

    References
    ----------
    ICNIRP, "Guidelines for limiting exposure to electromagnetic fields (100 kHz to 300 GHz)", Health Physics 118
    (2020) 483.
    """
    frequency = np.asarray(frequency_mhz, float)
    high = np.where(frequency <= 400.0, FIELD_LIMIT_VHF.value, np.nan)
    return np.where(frequency <= 30.0, FIELD_LIMIT_HF.value / frequency**0.7, high)


def exposure_distance_m(power_w: ArrayLike, gain_dbi: ArrayLike, frequency_mhz: ArrayLike) -> Floats:
    """Return the distance at which the far-field formula meets the reference level.

    Returns
    -------
    ndarray, m
        2·√(30·P·G)/E, with full reflection from the ground and continuous power. Closer than about a sixth of a
        wavelength the near field is stronger than this formula says: never take less than that.
    """
    strength = np.sqrt(30.0 * np.asarray(power_w, float) * db_to_power_ratio(gain_dbi))
    return GROUND_REFLECTION.value * strength / field_limit_v_per_m(frequency_mhz)
