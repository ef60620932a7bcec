"""Skin depth and the exact impedance of a solid round wire."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.bessel_ratios import RAY, bessel_ratios
from antexp.radio.constants import MAGNETIC_CONSTANT, Constant

MU0 = MAGNETIC_CONSTANT.value

STRAND_FACTOR = Constant(
    "stranded wire: resistance over that of a solid wire of the same outer diameter", 1.15, 1.0, 1.3, "",
    "lay of the strands and contact between them; 1.0 is the best case", "common practice, no source")

CONDUCTOR_CONSTANTS = (STRAND_FACTOR,)
"""What this module takes from outside."""


def skin_depth_m(frequency_mhz: ArrayLike, resistivity_ohm_m: ArrayLike,
                 relative_permeability: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Return the depth at which a current in flat metal has fallen to 1/e.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
    resistivity_ohm_m : array_like, Ω·m
    relative_permeability : array_like
        All three broadcast against one another.

    Returns
    -------
    ndarray, m
        δ = √(ρ/(π f μ0 μr)); infinite at direct current.

    References
    ----------
    Ramo, Whinnery & Van Duzer, Fields and Waves in Communication Electronics, section 3.16.
    """
    frequency_hz = np.asarray(frequency_mhz, float) * 1e6
    with np.errstate(divide="ignore"):
        return np.sqrt(np.asarray(resistivity_ohm_m, float)
                       / (np.pi * frequency_hz * MU0 * np.asarray(relative_permeability, float)))


def surface_resistance_ohm(frequency_mhz: ArrayLike, resistivity_ohm_m: ArrayLike,
                           relative_permeability: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Return ρ/δ, the resistance of a square of thick metal, in Ω (arguments as `skin_depth_m`)."""
    return np.asarray(resistivity_ohm_m, float) / skin_depth_m(frequency_mhz, resistivity_ohm_m, relative_permeability)


def resistance_ratio(x: ArrayLike) -> NDArray[np.float64]:
    """Return the resistance of a round wire over its resistance at direct current.

    Parameters
    ----------
    x : array_like
        √2 · radius / skin depth, the argument of the classic tables.

    Returns
    -------
    ndarray
        R/R0 = Re[(z/2)·I0(z)/I1(z)], z = x·e^{jπ/4}; 1 at x = 0.

    References
    ----------
    Rosa & Grover, Bulletin of the Bureau of Standards 8 (1912); NBS Circular 74 (1924): the skin-effect table.
    """
    x = np.asarray(x, float)
    positive = np.where(x == 0.0, 1.0, x)
    (p,) = bessel_ratios(positive, 1)
    with np.errstate(invalid="ignore"):
        return np.where(x == 0.0, 1.0, (0.5 * positive * RAY / p).real)


def direct_current_resistance_ohm_per_m(diameter_mm: ArrayLike, resistivity_ohm_m: ArrayLike) -> NDArray[np.float64]:
    """Return ρ over the cross-section of a round wire, in Ω/m."""
    radius_m = np.asarray(diameter_mm, float) * 0.5e-3
    return np.asarray(resistivity_ohm_m, float) / (np.pi * radius_m**2)


def solid_wire_impedance_ohm_per_m(frequency_mhz: ArrayLike, diameter_mm: ArrayLike, resistivity_ohm_m: ArrayLike,
                                   relative_permeability: ArrayLike = 1.0) -> NDArray[np.complex128]:
    """Return the impedance per length of a solid round wire alone in space, exactly.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
        0 is direct current.
    diameter_mm : array_like, mm
    resistivity_ohm_m : array_like, Ω·m
    relative_permeability : array_like
        All four broadcast against one another.

    Returns
    -------
    complex ndarray, Ω/m
        R′ + jX′, X′ being the internal reactance: Z′ = η/(2πa)·I0(ka)/I1(ka), k = (1 + j)/δ, η = kρ.

    Notes
    -----
    The wire is far from other conductors (no proximity effect), and its displacement current is nothing beside the
    conduction current, which holds for any metal below optical frequencies.

    References
    ----------
    Ramo, Whinnery & Van Duzer, Fields and Waves in Communication Electronics, section 4.5.
    """
    frequency_hz = np.asarray(frequency_mhz, float) * 1e6
    resistivity = np.asarray(resistivity_ohm_m, float)
    radius_m = np.asarray(diameter_mm, float) * 0.5e-3
    wave_number = np.sqrt(2 * np.pi * frequency_hz * MU0 * np.asarray(relative_permeability, float) / resistivity)
    x = wave_number * radius_m
    direct = resistivity / (np.pi * radius_m**2) + 0j
    safe = np.where(x == 0.0, 1.0, x)
    (p,) = bessel_ratios(safe, 1)
    with np.errstate(invalid="ignore"):  # NaN stays NaN, without a word
        return np.where(x == 0.0, direct, direct * (0.5 * safe * RAY / p))
