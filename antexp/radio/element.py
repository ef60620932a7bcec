"""From the resistance of a wire to decibels: current distribution, radiation resistance, efficiency."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import sici

from antexp.decibels import power_ratio_to_db
from antexp.radio.constants import SPEED_OF_LIGHT, Constant

Floats = NDArray[np.float64]

DIPOLE_RADIATION = Constant(
    "half-wave dipole: radiation resistance", 73.1, 57.0, 99.0, "Ω",
    "73.1 half a wavelength long in free space (textbooks), 67 to 68.5 at its own resonance as thin HF wire; over "
    "perfect ground between 57 and 99 from a fifth of a wavelength up", "handbook")
DIPOLE_IN_SPACE = Constant(
    "half-wave dipole far above ground: radiation resistance", 73.1, 67.0, 73.2, "Ω",
    "67 at its own resonance as thin HF wire, 73.1 half a wavelength long (textbooks)", "handbook")
LOWEST_DIPOLE = Constant(
    "half-wave dipole close to real ground: least resistance beside the wire's", 40.0, 30.0, 50.0, "Ω",
    "what the image takes away comes back as loss in the ground", "judgement, no source")
MONOPOLE_RADIATION = Constant(
    "quarter-wave vertical: radiation resistance", 36.5, 33.5, 36.6, "Ω",
    "half of the dipole's, over perfect ground (textbooks); 33.5 at its own resonance as thin HF wire", "handbook")
GROUND_LOSS = Constant(
    "vertical: loss resistance of ground and radials", 12.0, 4.0, 25.0, "Ω", "many to few radials",
    "common practice, no source")
STATED_GROUND_LOSS_FACTOR = Constant(
    "vertical: true ground loss over the stated one", 1.0, 0.67, 1.5, "",
    "a loss resistance is seldom measured better", "judgement, no source")
STARTING_LENGTH = Constant(
    "half-wave dipole: length tip to tip times frequency", 143.0, 140.0, 146.0, "m·MHz",
    "bare HF wire at usual heights", "common practice, no source")
INSULATION_SHORTENING = Constant(
    "thin insulation: shortening of a resonant wire", 0.025, 0.015, 0.035, "", "polyethylene or PVC of usual thickness",
    "common practice, no source")

ELEMENT_CONSTANTS = (DIPOLE_RADIATION, DIPOLE_IN_SPACE, LOWEST_DIPOLE, MONOPOLE_RADIATION, GROUND_LOSS,
                     STATED_GROUND_LOSS_FACTOR, STARTING_LENGTH, INSULATION_SHORTENING)
"""What this module takes from outside."""


def wavelength_m(frequency_mhz: ArrayLike) -> Floats:
    """Return the wavelength in free space, in m."""
    return SPEED_OF_LIGHT.value / (np.asarray(frequency_mhz, float) * 1e6)


def loss_factor(arm_wavelengths: ArrayLike) -> Floats:
    """Return how much of a wire's resistance counts at the feed, for a sinusoidal current.

    Parameters
    ----------
    arm_wavelengths : array_like
        Length of one arm (dipole) or of the element (vertical) in wavelengths, 0 … below 1/2.

    Returns
    -------
    ndarray
        F = (1 − sin(2kh)/2kh)/(2 sin²kh) with kh = 2π·arm: 1/2 at a quarter wave, 1/3 when short. It multiplies
        R′ times the whole length of wire and refers the loss to the current at the feed.

    References
    ----------
    Balanis, Antenna Theory, section 2.13 (loss resistance of a dipole); the integral of sin² over the arm.
    """
    u = 2 * np.pi * np.asarray(arm_wavelengths, float)
    short = np.abs(u) < 0.01
    w = np.where(short, 1.0, u)
    full = (1.0 - np.sin(2 * w) / (2 * w)) / (2.0 * np.sin(w) ** 2)
    # to the second order in u the two series give 1/3 + 2u²/45; the next term is below 1e-9 for u < 0.01
    return np.where(short, 1.0 / 3.0 + 2.0 * u**2 / 45.0, full)


def loss_resistance_ohm(resistance_ohm_per_m: ArrayLike, length_m: ArrayLike, factor: ArrayLike = 0.5) -> Floats:
    """Return the loss resistance at the feed.

    Parameters
    ----------
    resistance_ohm_per_m : array_like, Ω/m
    length_m : array_like, m
        Of all the wire: tip to tip for a dipole, the height for a vertical.
    factor : array_like
        `loss_factor` of an arm.

    Returns
    -------
    ndarray, Ω
        R′·L·F
    """
    return np.asarray(resistance_ohm_per_m, float) * np.asarray(length_m, float) * np.asarray(factor, float)


def mutual_resistance_ohm(spacing_wavelengths: ArrayLike) -> Floats:
    """Return the mutual resistance of two thin half-wave dipoles side by side.

    Parameters
    ----------
    spacing_wavelengths : array_like
        Above 0; towards 0 it becomes the radiation resistance of one.

    Returns
    -------
    ndarray, Ω
        R21 = 30·[2Ci(u0) − Ci(u1) − Ci(u2)], u0 = kd, u1,2 = k[√(d² + l²) ± l], l = λ/2

    References
    ----------
    Carter, Proc. IRE 20 (1932) 1004; Balanis, Antenna Theory, section 8.6.
    """
    u0 = 2 * np.pi * np.maximum(np.asarray(spacing_wavelengths, float), 1e-6)
    diagonal = np.sqrt(u0**2 + np.pi**2)
    far = u0**2 / (diagonal + np.pi)  # √(d²+l²) − l without losing digits
    return 30.0 * (2 * sici(u0)[1] - sici(diagonal + np.pi)[1] - sici(far)[1])


def dipole_resistance_over_ground_ohm(height_wavelengths: ArrayLike, reflection: ArrayLike = -1.0) -> Floats:
    """Return the radiation resistance of a horizontal half-wave dipole over ground.

    Parameters
    ----------
    height_wavelengths : array_like
    reflection : array_like
        −1 for perfect ground; real grounds lie between this and 0 (free space).

    Returns
    -------
    ndarray, Ω
        R11 + reflection·R21(2h): the dipole and its image.

    References
    ----------
    As `mutual_resistance_ohm`.
    """
    image = mutual_resistance_ohm(2 * np.asarray(height_wavelengths, float))
    return mutual_resistance_ohm(0.0) + np.asarray(reflection, float) * image


def efficiency_loss_db(loss_ohm: ArrayLike, common_ohm: ArrayLike) -> Floats:
    """Return what a loss resistance costs, in dB.

    Parameters
    ----------
    loss_ohm : array_like, Ω
        Loss resistance of the wire.
    common_ohm : array_like, Ω
        What the same current flows through besides: radiation resistance, and loss in the ground where there is any.

    Returns
    -------
    ndarray, dB
        10·log10(1 + R_loss/R_common), at least 0.
    """
    return power_ratio_to_db(1.0 + np.asarray(loss_ohm, float) / np.asarray(common_ohm, float))


def gap_db(loss_a_ohm: ArrayLike, loss_b_ohm: ArrayLike, common_ohm: ArrayLike) -> Floats:
    """Return how much weaker element a is than element b over the same ground and with the same power.

    Parameters
    ----------
    loss_a_ohm, loss_b_ohm : array_like, Ω
    common_ohm : array_like, Ω
        Radiation resistance and ground loss, shared by both.

    Returns
    -------
    ndarray, dB
        10·log10[(R_common + R_a)/(R_common + R_b)]; positive when b is stronger.
    """
    common = np.asarray(common_ohm, float)
    return power_ratio_to_db((common + np.asarray(loss_a_ohm, float)) / (common + np.asarray(loss_b_ohm, float)))


def wave_impedance_ohm(half_length_m: ArrayLike, diameter_mm: ArrayLike) -> Floats:
    """Return the average characteristic impedance of a dipole of thin wire.

    Parameters
    ----------
    half_length_m : array_like, m
        One arm; for a vertical its height, and half of this impedance.
    diameter_mm : array_like, mm

    Returns
    -------
    ndarray, Ω
        120·[ln(2h/a) − 1]

    References
    ----------
    Schelkunoff, Proc. IRE 29 (1941) 493: the dipole as a transmission line of average impedance.
    """
    radius_m = np.asarray(diameter_mm, float) * 0.5e-3
    return 120.0 * (np.log(2.0 * np.asarray(half_length_m, float) / radius_m) - 1.0)


def internal_shortening(internal_reactance_ohm_per_m: ArrayLike, frequency_mhz: ArrayLike, half_length_m: ArrayLike,
                        diameter_mm: ArrayLike) -> Floats:
    """Return by what part a wire resonates short because of the reactance inside its metal.

    Parameters
    ----------
    internal_reactance_ohm_per_m : array_like, Ω/m
        Imaginary part of the wire's impedance.
    frequency_mhz : array_like, MHz
    half_length_m : array_like, m
    diameter_mm : array_like, mm

    Returns
    -------
    ndarray
        ½·2X′/(k·Z_average): 1 to 3 % for bare steel of 1 to 2 mm, a tenth of a per cent for copper.

    Notes
    -----
    First order: the internal inductance adds to the external one of the dipole seen as a transmission line.
    """
    k = 2 * np.pi / wavelength_m(frequency_mhz)
    return np.asarray(internal_reactance_ohm_per_m, float) / (k * wave_impedance_ohm(half_length_m, diameter_mm))
