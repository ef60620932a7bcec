"""Power that does not get across because source and load do not match."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.decibels import DB_PER_NEPER, amplitude_ratio_to_db, db_to_power_ratio, power_ratio_to_db
from antexp.radio.constants import Constant

Floats = NDArray[np.float64]

REFLECTION_UNCERTAINTY = Constant(
    "hand-held analyser: standard uncertainty of a reflection coefficient", 0.03, 0.01, 0.05, "",
    "directivity and calibration of small instruments", "common practice, no source")

MISMATCH_CONSTANTS = (REFLECTION_UNCERTAINTY,)
"""What this module takes from outside."""


def reflection_from_swr(swr: ArrayLike) -> Floats:
    """Return the magnitude of the reflection coefficient, (S − 1)/(S + 1).

    Raises
    ------
    ValueError
        When a standing-wave ratio is below 1, which none can be.
    """
    ratio = np.asarray(swr, float)
    if bool((ratio < 1.0).any()):
        raise ValueError(f"SWR is below 1: got {np.nanmin(ratio):g}; allowed 1 and more")
    with np.errstate(invalid="ignore"):
        return np.where(np.isinf(ratio), 1.0, (ratio - 1.0) / (ratio + 1.0))


def swr_from_reflection(reflection: ArrayLike) -> Floats:
    """Return the standing-wave ratio of a reflection coefficient (complex or magnitude); infinite at 1."""
    magnitude = np.abs(np.asarray(reflection))
    with np.errstate(divide="ignore"):
        return np.where(magnitude < 1.0, (1.0 + magnitude) / np.maximum(1.0 - magnitude, 0.0), np.inf)


def power_reflection(source_ohm: ArrayLike, load_ohm: ArrayLike) -> NDArray[np.complex128]:
    """Return the reflection coefficient of power waves, (ZL − Zs*)/(ZL + Zs).

    Its squared magnitude is the part of the available power that does not reach the load, for any complex source and
    load; for a real source it is the ordinary reflection coefficient.

    References
    ----------
    Kurokawa, IEEE Trans. MTT 13 (1965) 194.
    """
    source, load = np.asarray(source_ohm, complex), np.asarray(load_ohm, complex)
    return (load - np.conj(source)) / (load + source)


def mismatch_factor(source_ohm: ArrayLike, load_ohm: ArrayLike) -> Floats:
    """Return the part of a source's available power that reaches the load.

    Parameters
    ----------
    source_ohm, load_ohm : array_like of complex, Ω
        With positive resistance.

    Returns
    -------
    ndarray
        M = 4·Rs·RL/|Zs + ZL|², 1 when ZL = Zs*.

    Raises
    ------
    ValueError
        When a resistance is negative.
    """
    source, load = np.asarray(source_ohm, complex), np.asarray(load_ohm, complex)
    if bool((source.real < 0).any() or (load.real < 0).any()):
        raise ValueError("resistance of a source or load is negative; allowed 0 and more")
    return 4.0 * source.real * load.real / np.abs(source + load) ** 2


def mismatch_loss_db(source_ohm: ArrayLike, load_ohm: ArrayLike) -> Floats:
    """Return −10·log10 M of `mismatch_factor`, in dB, at least 0."""
    return np.abs(power_ratio_to_db(mismatch_factor(source_ohm, load_ohm)))


def mismatch_loss_from_swr_db(swr: ArrayLike) -> Floats:
    """Return the mismatch loss at a standing-wave ratio measured against the source's own impedance.

    Returns
    -------
    ndarray, dB
        −10·log10(1 − |Γ|²): 0.177 at 1.5, 0.512 at 2, 1.249 at 3.
    """
    return np.abs(power_ratio_to_db(1.0 - reflection_from_swr(swr) ** 2))


def mismatch_loss_uncertainty_db(reflection: ArrayLike,
                                 u_reflection: ArrayLike = REFLECTION_UNCERTAINTY.value) -> Floats:
    """Return the standard uncertainty of a mismatch loss from that of the reflection coefficient.

    Parameters
    ----------
    reflection : array_like, complex or magnitude
        `reflection_from_swr` or `power_reflection`.
    u_reflection : array_like
        Standard uncertainty of its real and of its imaginary part.

    Returns
    -------
    ndarray, dB
        √[(8.686·|Γ|u/(1 − |Γ|²))² + (8.686·u²)²]: the second term, of second order, keeps a perfect match from
        being taken for a perfectly known one.

    Notes
    -----
    L = −10·log10(1 − x² − y²), first order ∂L/∂|Γ| = 8.686|Γ|/(1 − |Γ|²). Near the origin L = 4.343(x² + y²), and
    for normal x and y the variance of x² + y² is 4u⁴ at zero mean.

    References
    ----------
    JCGM 100:2008 (GUM), 5.1.2 and its note on higher-order terms.
    """
    magnitude = np.abs(np.asarray(reflection))
    u = np.asarray(u_reflection, float)
    with np.errstate(divide="ignore", invalid="ignore"):
        first = DB_PER_NEPER * magnitude * u / (1.0 - magnitude**2)
    return np.sqrt(first**2 + (DB_PER_NEPER * u**2) ** 2)


def unknown_phase_limits_db(source_reflection: ArrayLike, load_reflection: ArrayLike) -> tuple[Floats, Floats]:
    """Return the least and the most that two reflections of unknown phase can do to a level.

    Parameters
    ----------
    source_reflection, load_reflection : array_like
        Magnitudes below 1.

    Returns
    -------
    low, high : ndarray, dB
        20·log10(1 ∓ |Γs||Γl|)

    References
    ----------
    Harris & Warner, "Re-examination of mismatch uncertainty when measuring microwave power and attenuation",
    IEE Proc. H 128 (1981) 35.
    """
    product = np.abs(np.asarray(source_reflection)) * np.abs(np.asarray(load_reflection))
    return amplitude_ratio_to_db(1.0 - product), amplitude_ratio_to_db(1.0 + product)


def unknown_phase_uncertainty_db(source_reflection: ArrayLike, load_reflection: ArrayLike) -> Floats:
    """Return the standard uncertainty of a level when two reflections meet with unknown phase.

    Returns
    -------
    ndarray, dB
        8.686·|Γs||Γl|/√2, of the U-shaped (arcsine) distribution.

    References
    ----------
    Harris & Warner 1981 (as `unknown_phase_limits_db`); EA-4/02 takes the same distribution.
    """
    product = np.abs(np.asarray(source_reflection)) * np.abs(np.asarray(load_reflection))
    return DB_PER_NEPER * product / np.sqrt(2.0)


def swr_through_line(swr_at_load: ArrayLike, line_loss_db: ArrayLike) -> Floats:
    """Return the standing-wave ratio seen at the near end of a matched, lossy line.

    Returns
    -------
    ndarray
        Of |Γ_in| = |Γ_L|·10^(−A/10), A the one-way loss in dB: a poor line makes a poor antenna look good.
    """
    return swr_from_reflection(reflection_from_swr(swr_at_load) / db_to_power_ratio(line_loss_db))


def swr_at_load(swr_at_input: ArrayLike, line_loss_db: ArrayLike) -> Floats:
    """Return the standing-wave ratio at the far end of a matched, lossy line from that at its input.

    Returns
    -------
    ndarray
        NaN where no load could look so bad through that line.
    """
    reflection = reflection_from_swr(swr_at_input) * db_to_power_ratio(line_loss_db)
    return np.where(reflection <= 1.0, swr_from_reflection(np.minimum(reflection, 1.0)), np.nan)
