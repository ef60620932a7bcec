"""The path between the two ends: free space, far field, and the plane earth with its reflected and surface waves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import wofz

from antexp.decibels import amplitude_ratio_to_db
from antexp.radio.constants import ELECTRIC_CONSTANT, Constant, Standing
from antexp.radio.element import wavelength_m

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
Polarisation = Literal["horizontal", "vertical"]

GROUND_SOURCE = "ITU-R P.527 and P.368, below 30 MHz"


@dataclass(frozen=True)
class Ground:
    """The electrical properties of a ground.

    Attributes
    ----------
    name : str
    permittivity : Constant
        Relative.
    conductivity_s_per_m : Constant
        S/m; the name fixes it within a factor of about three, a dry week moves it as much.
    """

    name: str
    permittivity: Constant
    conductivity_s_per_m: Constant


def _ground(name: str, permittivity: float, conductivity: float, factor: float = 3.0,
            standing: Standing = "from memory") -> Ground:
    spread = 1.0 if factor == 1.0 else 1.5
    return Ground(
        name,
        Constant(f"{name}: relative permittivity", permittivity, max(1.0, permittivity / spread),
                 permittivity * spread, "", GROUND_SOURCE, standing),
        Constant(f"{name}: conductivity", conductivity, conductivity / factor, conductivity * factor, "S/m",
                 f"{GROUND_SOURCE}; the range is judgement", standing))


GROUNDS: dict[str, Ground] = {ground.name: ground for ground in (
    _ground("sea water", 70.0, 5.0, 1.0),
    _ground("fresh water", 80.0, 3e-3),
    _ground("wet", 30.0, 1e-2),
    _ground("land", 22.0, 3e-3),
    _ground("medium dry", 15.0, 1e-3),
    _ground("dry", 7.0, 3e-4),
    _ground("very dry", 3.0, 1e-4),
)}
"""Grounds by the names of the recommendations."""

FAR_FIELD_RULES = (
    Constant("far field: squared size over wavelength", 2.0, 2.0, 2.0, "", "2D²/λ (textbooks)", "handbook"),
    Constant("far field: least distance over size", 5.0, 5.0, 5.0, "", "5D", "common practice, no source"),
    Constant("far field: least distance over wavelength", 1.6, 1.6, 1.6, "", "1.6λ", "common practice, no source"),
)

PATH_CONSTANTS = (*FAR_FIELD_RULES,
                  *(value for ground in GROUNDS.values() for value in (ground.permittivity,
                                                                       ground.conductivity_s_per_m)))
"""What this module takes from outside."""


def free_space_loss_db(frequency_mhz: ArrayLike, distance_m: ArrayLike) -> Floats:
    """Return the loss between isotropic antennas in free space.

    Returns
    -------
    ndarray, dB
        20·log10(4πd/λ), which P.525 rounds to 32.4 + 20·log10 f(MHz) + 20·log10 d(km).

    References
    ----------
    ITU-R P.525, Calculation of free-space attenuation, equations 3 and 4.
    """
    return amplitude_ratio_to_db(4 * np.pi * np.asarray(distance_m, float) / wavelength_m(frequency_mhz))


def far_field_distance_m(frequency_mhz: ArrayLike, size_m: ArrayLike) -> Floats:
    """Return the distance from which the far field may be reckoned with.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
    size_m : array_like, m
        The largest dimension of what radiates: near ground that is the element together with its image.

    Returns
    -------
    ndarray, m
        The largest of 2D²/λ, 5D and 1.6λ.
    """
    length, size = wavelength_m(frequency_mhz), np.asarray(size_m, float)
    squared, sizes, lengths = (rule.value for rule in FAR_FIELD_RULES)
    return np.maximum(np.maximum(squared * size**2 / length, sizes * size), lengths * length)


def size_with_image_m(length_m: ArrayLike, height_m: ArrayLike, polarisation: Polarisation) -> Floats:
    """Return the largest dimension of an element at a height (of its middle) together with its image in the ground."""
    length, height = np.asarray(length_m, float), np.asarray(height_m, float)
    if polarisation == "vertical":
        return np.maximum(2 * height + length, length)
    return np.hypot(length, 2 * height)


def complex_permittivity(frequency_mhz: ArrayLike, permittivity: ArrayLike,
                         conductivity_s_per_m: ArrayLike) -> Complexes:
    """Return εr − jσ/(ωε0) of a ground (time factor e^{+jωt}; ITU-R P.527)."""
    omega = 2e6 * np.pi * np.asarray(frequency_mhz, float)
    return np.asarray(permittivity, float) - 1j * np.asarray(conductivity_s_per_m, float) / (
        omega * ELECTRIC_CONSTANT.value)


def fresnel_reflection(grazing_rad: ArrayLike, permittivity: ArrayLike, polarisation: Polarisation) -> Complexes:
    """Return the reflection coefficient of flat ground.

    Parameters
    ----------
    grazing_rad : array_like, rad
        Angle between ray and ground, 0 … π/2.
    permittivity : array_like of complex
        `complex_permittivity`.
    polarisation : {"horizontal", "vertical"}

    Returns
    -------
    complex ndarray
        Horizontal (sin ψ − w)/(sin ψ + w), vertical (ε sin ψ − w)/(ε sin ψ + w), w = √(ε − cos²ψ); the vertical one
        is that of the vertical field component, +1 over a perfect conductor.

    References
    ----------
    Jordan & Balmain, Electromagnetic Waves and Radiating Systems, section 16.02; ITU-R P.1008 and P.368.
    """
    sine, epsilon = np.sin(np.asarray(grazing_rad, float)), np.asarray(permittivity, complex)
    root = np.sqrt(epsilon - np.cos(np.asarray(grazing_rad, float)) ** 2)
    up = epsilon * sine if polarisation == "vertical" else sine
    return (up - root) / (up + root)


def surface_wave_attenuation(frequency_mhz: ArrayLike, path_m: ArrayLike, grazing_rad: ArrayLike,
                             permittivity: ArrayLike) -> Complexes:
    """Return Norton's attenuation function of the vertically polarised surface wave.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
    path_m : array_like, m
        Length of the reflected ray.
    grazing_rad : array_like, rad
    permittivity : array_like of complex

    Returns
    -------
    complex ndarray
        F = 1 − j√(πw)·e^{−w}·erfc(j√w), w = −½jkr·u²(1 − u²cos²ψ)·[1 + sin ψ/(u√(1 − u²cos²ψ))]², u² = 1/ε.
        1 close by, falling with the inverse of the distance far away; flat earth only.

    References
    ----------
    Norton, Proc. IRE 25 (1937) 1203; Jordan & Balmain section 16.08.
    """
    k = 2 * np.pi / wavelength_m(frequency_mhz)
    u = 1.0 / np.sqrt(np.asarray(permittivity, complex))
    angle = np.asarray(grazing_rad, float)
    root = np.sqrt(1.0 - (u * np.cos(angle)) ** 2)
    # √w is formed directly, which keeps it on the branch of the outgoing wave
    root_w = np.sqrt(-0.5j * k * np.asarray(path_m, float)) * (u * root + np.sin(angle))
    return 1.0 - 1j * np.sqrt(np.pi) * root_w * wofz(-root_w)


def plane_earth_factor(frequency_mhz: ArrayLike, distance_m: ArrayLike, height_m: ArrayLike,
                       receive_height_m: ArrayLike, permittivity: ArrayLike, polarisation: Polarisation,
                       *, surface_wave: bool = True) -> Complexes:
    """Return the field over flat ground relative to that in free space.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
    distance_m : array_like, m
        Along the ground.
    height_m, receive_height_m : array_like, m
        Of the middles of the two elements.
    permittivity : array_like of complex
        Of the ground.
    polarisation : {"horizontal", "vertical"}
    surface_wave : bool
        False leaves the two rays alone. With horizontal polarisation the surface wave is nothing at HF.

    Returns
    -------
    complex ndarray
        1 + [Γ + (1 − Γ)·F]·(r1/r2)·e^{−jk(r2 − r1)}; its magnitude is 2 at most for equal rays.

    Notes
    -----
    Point sources without pattern: right for low angles, distances of many heights, and ground that is flat and alike
    between the ends.
    """
    distance = np.asarray(distance_m, float)
    h1, h2 = np.asarray(height_m, float), np.asarray(receive_height_m, float)
    direct, reflected = np.hypot(distance, h1 - h2), np.hypot(distance, h1 + h2)
    longer = 4.0 * h1 * h2 / (direct + reflected)  # r2 − r1 without losing digits
    angle = np.arctan2(h1 + h2, distance)
    bounce = fresnel_reflection(angle, permittivity, polarisation)
    if surface_wave and polarisation == "vertical":
        bounce = bounce + (1.0 - bounce) * surface_wave_attenuation(frequency_mhz, reflected, angle, permittivity)
    k = 2 * np.pi / wavelength_m(frequency_mhz)
    return 1.0 + bounce * direct / reflected * np.exp(-1j * k * longer)


def level_slope_db_per_m(frequency_mhz: float, distance_m: float, height_m: float, receive_height_m: float,
                         permittivity: complex, polarisation: Polarisation) -> float:
    """Return how the level changes with the height of the first element, in dB a metre (central difference)."""
    step = 1e-4 * float(wavelength_m(frequency_mhz))
    heights = np.array([height_m - step, height_m + step])
    level = amplitude_ratio_to_db(np.abs(plane_earth_factor(frequency_mhz, distance_m, heights, receive_height_m,
                                                            permittivity, polarisation)))
    return float((level[1] - level[0]) / (2 * step))
