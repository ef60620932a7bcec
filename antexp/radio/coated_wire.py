"""The exact impedance of a wire of two metals, core and coating: zinc on steel, copper on steel, tin on copper."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.bessel_ratios import RAY, bessel_ratios
from antexp.radio.conductors import MU0, solid_wire_impedance_ohm_per_m
from antexp.radio.constants import Constant

COATING_FACTOR = Constant("coating: true thickness over the stated one", 1.0, 0.7, 1.3, "",
                          "dipped and plated layers vary along and around a wire", "judgement, no source")

COATING_CONSTANTS = (COATING_FACTOR,)
"""What this module takes from outside."""

_CHUNK = 16_384
"""So many wires at a time keep all intermediate arrays in the processor's cache; twice as fast as all at once."""


def coated_wire_impedance_ohm_per_m(
    frequency_mhz: ArrayLike, diameter_mm: ArrayLike, thickness_um: ArrayLike,
    core_resistivity_ohm_m: ArrayLike, coating_resistivity_ohm_m: ArrayLike,
    core_permeability: ArrayLike = 1.0, coating_permeability: ArrayLike = 1.0,
) -> NDArray[np.complex128]:
    """Return the impedance per length of a round wire with a coating, exactly.

    Parameters
    ----------
    frequency_mhz : array_like, MHz
        0 is direct current.
    diameter_mm : array_like, mm
        Outside of the coating.
    thickness_um : array_like, µm
        Of the coating; 0 is none, up to half the diameter (which is a wire of the coating alone).
    core_resistivity_ohm_m, coating_resistivity_ohm_m : array_like, Ω·m
        An insulating core has infinite resistivity.
    core_permeability, coating_permeability : array_like
        Relative. All arguments broadcast against one another.

    Returns
    -------
    complex ndarray, Ω/m
        R′ + jX′; NaN where an argument is NaN.

    Raises
    ------
    ValueError
        When a coating is negative or thicker than the wire's radius.

    Notes
    -----
    With k_i = √(jωμ_i/ρ_i), η_i = k_iρ_i, core radius a, outer radius b, t = b − a and the ratios p = I1/I0,
    r = K0/K1, s = e^{2z}K1/I1 of `bessel_ratios`:
    u = (η2/η1)·p(k1a),
    c = s(k2b)/s(k2a)·e^{−2k2t}·[1 − u/p(k2a)]/[1 + u·r(k2a)],
    Z′ = η2/(2πb)·[1/p(k2b) + c·r(k2b)]/(1 − c).
    The field in the coating is B·I0 + C·K0, E/H is continuous at r = a, and c = C·K1(k2b)/(B·I1(k2b)). Every factor is
    bounded, so nothing can overflow. R′ is not monotone in t: some one and a half skin depths of copper on steel
    carry better than solid copper, because the field that would have gone deeper comes back in the wrong phase.

    References
    ----------
    Ramo, Whinnery & Van Duzer, Fields and Waves in Communication Electronics, sections 3.16 to 4.5 (coated
    conductors); Abramowitz & Stegun 9.6 for the derivatives of I0 and K0.
    """
    arrays = np.broadcast_arrays(*(np.asarray(value, float) for value in (
        frequency_mhz, diameter_mm, thickness_um, core_resistivity_ohm_m, coating_resistivity_ohm_m,
        core_permeability, coating_permeability)))
    shape = arrays[0].shape
    _refuse_impossible_coatings(arrays[1], arrays[2])
    impedance = np.empty(int(np.prod(shape)), complex)
    flat = [array.reshape(-1) for array in arrays] if impedance.size <= _CHUNK else None
    for start in range(0, impedance.size, _CHUNK):
        part = slice(start, start + _CHUNK)
        columns = flat or [array.flat[part] for array in arrays]
        impedance[part] = _impedance(*columns)
    return impedance.reshape(shape)


def _refuse_impossible_coatings(diameter_mm: NDArray[np.float64], thickness_um: NDArray[np.float64]) -> None:
    """Raise where the coating does not fit the wire (a hair of rounding is forgiven)."""
    if bool((thickness_um < 0).any()):
        raise ValueError(f"coating is negative: got {np.nanmin(thickness_um):g} µm; allowed 0 and more")
    too_thick = thickness_um > diameter_mm * 500.0 * (1 + 1e-12)
    if bool(too_thick.any()):
        worst = int(np.argmax(too_thick))
        raise ValueError(f"coating is thicker than the wire: got {thickness_um.flat[worst]:g} µm on "
                         f"{diameter_mm.flat[worst]:g} mm; allowed up to half the diameter")


def _impedance(frequency_mhz: NDArray[np.float64], diameter_mm: NDArray[np.float64],
               thickness_um: NDArray[np.float64], rho1: NDArray[np.float64], rho2: NDArray[np.float64],
               mu1: NDArray[np.float64], mu2: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Return Z′ of one chunk of coated wires, all arrays of one dimension; the limits are sent elsewhere."""
    b = diameter_mm * 0.5e-3
    t = thickness_um * 1e-6
    a = np.maximum(b - t, 0.0)
    layered = (frequency_mhz > 0) & (t > 0) & (a > 0)
    if layered.all():
        return _layered(frequency_mhz, a, b, t, rho1, rho2, mu1, mu2)
    impedance = np.full(b.shape, np.nan, complex)
    bare, whole = t == 0, (a == 0) & (t > 0)
    for chosen, rho, mu in ((bare, rho1, mu1), (whole, rho2, mu2)):
        impedance[chosen] = solid_wire_impedance_ohm_per_m(frequency_mhz[chosen], diameter_mm[chosen], rho[chosen],
                                                           mu[chosen])
    direct = (frequency_mhz == 0) & ~bare & ~whole
    impedance[direct] = (1.0 / (np.pi * (a**2 / rho1 + (b**2 - a**2) / rho2)))[direct]
    impedance[layered] = _layered(*(x[layered] for x in (frequency_mhz, a, b, t, rho1, rho2, mu1, mu2)))
    return impedance


def _layered(frequency_mhz: NDArray[np.float64], a: NDArray[np.float64], b: NDArray[np.float64],
             t: NDArray[np.float64], rho1: NDArray[np.float64], rho2: NDArray[np.float64],
             mu1: NDArray[np.float64], mu2: NDArray[np.float64]) -> NDArray[np.complex128]:
    """Return Z′ where there are two layers and a frequency, by the formula of `coated_wire_impedance_ohm_per_m`."""
    omega_mu0 = (2e6 * np.pi * MU0) * frequency_mhz
    core, coating = np.sqrt(omega_mu0 * mu1 / rho1), np.sqrt(omega_mu0 * mu2 / rho2)
    x_core = core * a
    # an insulating core has no field gradient: u = 0, whatever p says
    insulating = x_core == 0.0
    if insulating.any():
        x_core = np.where(insulating, 1.0, x_core)
    (p1,) = bessel_ratios(x_core, 1)
    # η2/η1 = (μ2/μ1)·(k1/k2), written so that an infinite resistivity of the core gives zero
    u = mu2 * core / (mu1 * coating) * p1
    pa, ra, sa = bessel_ratios(coating * a)
    pb, rb, sb = bessel_ratios(coating * b)
    with np.errstate(invalid="ignore"):  # NaN stays NaN, without a word
        c = sb * np.exp((-2.0 * RAY) * (coating * t)) * (1.0 - u / pa) / (sa * (1.0 + u * ra))
        return RAY * (coating * rho2 / (2 * np.pi * b)) * (1.0 / pb + c * rb) / (1.0 - c)
