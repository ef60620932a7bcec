"""Length of a resonant wire: from measured resonance to the cut, and what being off costs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.element import STARTING_LENGTH, wave_impedance_ohm
from antexp.radio.mismatch import mismatch_loss_db

Floats = NDArray[np.float64]


def starting_leg_m(frequency_mhz: ArrayLike) -> Floats:
    """Return the leg to begin with when nothing is measured, half of 143/f(MHz) m (common practice, no source)."""
    return 0.5 * STARTING_LENGTH.value / np.asarray(frequency_mhz, float)


def new_leg_m(leg_m: ArrayLike, resonance_mhz: ArrayLike, target_mhz: ArrayLike) -> Floats:
    """Return the leg that resonates at the target, from one measurement.

    Parameters
    ----------
    leg_m : array_like, m
        As measured: one leg of a dipole, or a vertical's height.
    resonance_mhz, target_mhz : array_like, MHz

    Returns
    -------
    ndarray, m
        L·f_measured/f_target, first order: the end effect is taken to scale with the length.
    """
    return np.asarray(leg_m, float) * np.asarray(resonance_mhz, float) / np.asarray(target_mhz, float)


def khz_per_cm(leg_m: ArrayLike, resonance_mhz: ArrayLike) -> Floats:
    """Return by how many kHz the resonance rises for each centimetre taken off each leg (one measurement)."""
    return 10.0 * np.asarray(resonance_mhz, float) / np.asarray(leg_m, float)


def trim_line(leg_m: ArrayLike, resonance_mhz: ArrayLike, target_mhz: float) -> tuple[float, float]:
    """Return the leg for the target and the sensitivity there, from two or more lengths.

    Parameters
    ----------
    leg_m : array_like, shape (n,), m
        At least two different lengths.
    resonance_mhz : array_like, shape (n,), MHz
    target_mhz : float, MHz

    Returns
    -------
    new_leg_m : float, m
    khz_per_cm : float, kHz a centimetre of each leg
        From the least-squares line 1/f = p + q·L: L = (1/f_target − p)/q, −df/dL = q·f².

    Raises
    ------
    ValueError
        When all lengths are equal, or a longer wire did not resonate lower.
    """
    leg, period = np.asarray(leg_m, float), 1.0 / np.asarray(resonance_mhz, float)
    spread = leg - leg.mean()
    if not np.any(np.abs(spread) > 1e-9):
        raise ValueError("trim line needs two lengths: got one; measure again after a part of the cut")
    slope = float(spread @ period / (spread @ spread))
    if slope <= 0:
        raise ValueError("a longer wire resonated higher: one of the measurements is wrong; measure again")
    level = float(period.mean()) - slope * float(leg.mean())
    return (1.0 / target_mhz - level) / slope, slope * target_mhz**2 * 10.0


def detuned_reactance_ohm(resonance_mhz: ArrayLike, target_mhz: ArrayLike, leg_m: ArrayLike, diameter_mm: ArrayLike,
                          *, monopole: bool = False) -> Floats:
    """Return the reactance at the feed of an element that resonates beside the target.

    Parameters
    ----------
    resonance_mhz, target_mhz : array_like, MHz
    leg_m : array_like, m
    diameter_mm : array_like, mm
    monopole : bool
        A vertical over ground has half the reactance of the dipole.

    Returns
    -------
    ndarray, Ω
        −Z_average·cot(π/2·f_target/f_resonance): positive when the wire is too long.

    References
    ----------
    Schelkunoff, Proc. IRE 29 (1941) 493, first order. Against tables of resonant lengths it is right within a
    quarter for wires from 1/5000 to 1/10 of their length thick.
    """
    angle = 0.5 * np.pi * np.asarray(target_mhz, float) / np.asarray(resonance_mhz, float)
    impedance = wave_impedance_ohm(leg_m, diameter_mm) * (0.5 if monopole else 1.0)
    return -impedance / np.tan(angle)


def mistuning_cost_db(reactance_ohm: ArrayLike, resistance_ohm: ArrayLike, source_ohm: ArrayLike) -> Floats:
    """Return what a reactance at the feed costs beyond the mismatch of the resistance alone.

    Parameters
    ----------
    reactance_ohm, resistance_ohm : array_like, Ω
    source_ohm : array_like of complex, Ω

    Returns
    -------
    ndarray, dB
        Mismatch loss with the reactance minus that without; negative where it happens to cancel the source's own.
    """
    resistance = np.asarray(resistance_ohm, float)
    with_reactance = mismatch_loss_db(source_ohm, resistance + 1j * np.asarray(reactance_ohm, float))
    return with_reactance - mismatch_loss_db(source_ohm, resistance)
