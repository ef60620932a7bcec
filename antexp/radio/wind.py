"""What wind does to a hanging wire: pressure, load a metre, and the pull that follows. A first estimate.

Local codes set the gust speed, the ice and the safety factor that a wire over people or a way has to be built for;
this kernel knows none of them, and leaves ice out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.radio.constants import Constant
from antexp.radio.sag import catenary_sag_m, support_tension_n, weight_n_per_m

Floats = NDArray[np.float64]

AIR_DENSITY = Constant("wind: density of air", 1.25, 1.2, 1.3, "kg/m³", "EN 1991-1-4, clause 4.5, recommended value",
                       "from memory")
CYLINDER_DRAG = Constant("wind: force coefficient of a round wire", 1.2, 1.0, 1.2, "",
                         "EN 1991-1-4, figure 7.28 (thin cylinder); EN 50341 takes 1.0 for conductors", "from memory")

WIND_CONSTANTS = (AIR_DENSITY, CYLINDER_DRAG)
"""What this module takes from outside."""


def wind_pressure_pa(gust_m_per_s: ArrayLike) -> Floats:
    """Return the velocity pressure of a gust.

    Parameters
    ----------
    gust_m_per_s : array_like, m/s
        The gust itself: no gust factor is added.

    Returns
    -------
    ndarray, Pa
        q = ½·ρ·v².

    References
    ----------
    EN 1991-1-4, equation (4.10), with ρ = 1.25 kg/m³; ASCE 7 writes the same as 0.613·v².
    """
    return 0.5 * AIR_DENSITY.value * np.asarray(gust_m_per_s, float) ** 2


def wind_force_n_per_m(gust_m_per_s: ArrayLike, diameter_mm: ArrayLike) -> Floats:
    """Return the force of a gust across a wire, c·q·d, in N/m (diameter over the insulation, mm)."""
    return CYLINDER_DRAG.value * wind_pressure_pa(gust_m_per_s) * np.asarray(diameter_mm, float) * 1e-3


def loaded_n_per_m(mass_g_per_m: ArrayLike, wind_n_per_m: ArrayLike) -> Floats:
    """Return weight and wind together, at right angles, in N/m."""
    return np.hypot(weight_n_per_m(mass_g_per_m), np.asarray(wind_n_per_m, float))


def tension_in_wind_n(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike,
                      wind_n_per_m: ArrayLike) -> Floats:
    """Return the largest pull in a wire between fast ends while the wind blows across it.

    Parameters
    ----------
    mass_g_per_m : array_like, g/m
    span_m : array_like, m
    tension_n : array_like, N
        Horizontal, in still air.
    wind_n_per_m : array_like, N/m

    Returns
    -------
    ndarray, N
        At a support. The wire keeps its length, so it keeps its curve, tilted, and every force grows as the load
        does: an upper bound, since a real wire stretches, supports give, and a halyard with a weight or spring holds
        the pull where it was.
    """
    ratio = loaded_n_per_m(mass_g_per_m, wind_n_per_m) / weight_n_per_m(mass_g_per_m)
    return support_tension_n(mass_g_per_m, span_m, tension_n) * ratio


def sag_in_wind_m(mass_g_per_m: ArrayLike, span_m: ArrayLike, tension_n: ArrayLike,
                  wind_n_per_m: ArrayLike) -> tuple[Floats, Floats]:
    """Return the sag in the tilted plane and its vertical part, in m, where the pull is held at `tension_n`.

    That is the halyard with a weight or spring; arguments as `tension_in_wind_n`.
    """
    load = loaded_n_per_m(mass_g_per_m, wind_n_per_m)
    weight = weight_n_per_m(mass_g_per_m)
    tilted = catenary_sag_m(np.asarray(mass_g_per_m, float) * load / weight, span_m, tension_n)
    return tilted, tilted * weight / load
