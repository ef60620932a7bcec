"""The candidates of a plan as conductors: metal, coating and strands with the range of each constant."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.plan.candidate import Candidate, Coating
from antexp.radio.coated_wire import COATING_FACTOR, coated_wire_impedance_ohm_per_m
from antexp.radio.conductors import STRAND_FACTOR
from antexp.radio.constants import Range
from antexp.radio.materials import MATERIALS

Floats = NDArray[np.float64]
_THICKNESS_LEVELS = 5
"""Resistance is not monotone in the thickness of a coating: more than its ends must be tried."""


@dataclass(frozen=True)
class Conductor:
    """What is known of one candidate's metal; each range is (low, value, high).

    Attributes
    ----------
    name : str
        The candidate.
    diameter_mm : float
        Outside of the metal, coating included.
    core_resistivity_ohm_m, core_permeability : Range
    coating_resistivity_ohm_m, coating_permeability : Range
        Those of the core where there is no coating.
    thickness_um : Range
        Of the coating; 0 where there is none.
    strand_factor : Range
        Resistance over that of the solid wire; 1 for solid wire.
    """

    name: str
    diameter_mm: float
    core_resistivity_ohm_m: Range
    core_permeability: Range
    coating_resistivity_ohm_m: Range
    coating_permeability: Range
    thickness_um: Range
    strand_factor: Range


@dataclass(frozen=True)
class WireResistance:
    """Impedance per length of several conductors at several frequencies, shape (n_frequencies, n_conductors).

    Attributes
    ----------
    impedance_ohm_per_m : ndarray of complex, Ω/m
        With every constant at its own value.
    low_ohm_per_m, high_ohm_per_m : ndarray, Ω/m
        Least and greatest resistance with the constants anywhere in their ranges.
    """

    impedance_ohm_per_m: NDArray[np.complex128]
    low_ohm_per_m: Floats
    high_ohm_per_m: Floats


def missing_for_physics(candidate: Candidate) -> tuple[str, ...]:
    """Return the plan keys without which nothing can be said about a candidate's metal."""
    missing = []
    if candidate.material is None and candidate.resistivity_ohm_m is None:
        missing.append("material")
    if candidate.diameter_mm is None:
        missing.append("diameter_mm")
    coating = candidate.coating
    if coating is not None and coating.material is None and coating.resistivity_ohm_m is None:
        missing.append("coating.material")
    return tuple(missing)


def conductor_of(candidate: Candidate) -> Conductor | None:
    """Return a candidate as a conductor; None while something is missing (never guessed from its name)."""
    if missing_for_physics(candidate) or candidate.diameter_mm is None:
        return None
    resistivity, permeability = _metal(candidate)
    coating = candidate.coating
    coating_resistivity, coating_permeability = (resistivity, permeability) if coating is None else _metal(coating)
    return Conductor(candidate.name, candidate.diameter_mm, resistivity, permeability, coating_resistivity,
                     coating_permeability, _thickness(coating, candidate.diameter_mm),
                     STRAND_FACTOR.range if candidate.strands > 1 else (1.0, 1.0, 1.0))


def wire_resistance(conductors: list[Conductor], frequency_mhz: ArrayLike) -> WireResistance:
    """Return what the conductors' impedance is, and what it may be.

    Parameters
    ----------
    conductors : list of Conductor, length n
    frequency_mhz : array_like, shape (f,), MHz

    Returns
    -------
    WireResistance
        Arrays of shape (f, n). The range is that of all combinations of low, middle and high constants; the
        constants of different conductors are taken as independent.
    """
    frequencies = np.atleast_1d(np.asarray(frequency_mhz, float))
    strands = np.array([wire.strand_factor for wire in conductors])
    nominal = _impedance(conductors, frequencies, [_middle()])[:, 0, :] * strands[:, 1]
    shape = nominal.shape
    low, high = np.full(shape, np.inf), np.full(shape, -np.inf)
    for row, frequency in enumerate(frequencies):  # a frequency at a time keeps hundreds of combinations in memory
        resistance = _impedance(conductors, frequency[None], _combinations()).real[0]
        low[row], high[row] = resistance.min(axis=0) * strands[:, 0], resistance.max(axis=0) * strands[:, 2]
    return WireResistance(nominal, low, high)


Levels = tuple[float, float, float, float, float]
"""Where in its range each of the five constants stands: 0 low, 1 value, 2 high."""


def _middle() -> Levels:
    return (1.0, 1.0, 1.0, 1.0, 1.0)


def _combinations() -> list[Levels]:
    """Return every combination of levels: three for each constant, more for the thickness."""
    thirds = (0.0, 1.0, 2.0)
    return list(product(thirds, thirds, thirds, thirds, np.linspace(0.0, 2.0, _THICKNESS_LEVELS).tolist()))


def _impedance(conductors: list[Conductor], frequency_mhz: Floats, levels: list[Levels]) -> NDArray[np.complex128]:
    """Return impedance per length, shape (frequencies, levels, conductors), without the strand factor."""
    fields = ("core_resistivity_ohm_m", "core_permeability", "coating_resistivity_ohm_m", "coating_permeability",
              "thickness_um")
    at = np.array(levels)
    constants = []
    for column, field in enumerate(fields):
        ranges = np.array([getattr(wire, field) for wire in conductors])  # (n, 3)
        # straight between low and value, and between value and high
        constants.append(np.array([np.interp(at[:, column], (0.0, 1.0, 2.0), each) for each in ranges]).T)
    rho1, mu1, rho2, mu2, thickness_um = constants
    diameter_mm = np.array([wire.diameter_mm for wire in conductors])
    return coated_wire_impedance_ohm_per_m(frequency_mhz[:, None, None], diameter_mm, thickness_um, rho1, rho2, mu1,
                                           mu2)


def _exactly(value: float) -> Range:
    return (value, value, value)


def _metal(part: Candidate | Coating) -> tuple[Range, Range]:
    """Return resistivity and permeability of a core or coating; what the user states carries no range."""
    if part.material is not None:
        known = MATERIALS[part.material]
        resistivity, permeability = known.resistivity_ohm_m.range, known.relative_permeability.range
    else:
        resistivity, permeability = _exactly(np.nan), _exactly(1.0)
    if part.resistivity_ohm_m is not None:
        resistivity = _exactly(part.resistivity_ohm_m)
    if part.relative_permeability is not None:
        permeability = _exactly(part.relative_permeability)
    return resistivity, permeability


def _thickness(coating: Coating | None, diameter_mm: float) -> Range:
    """Return the thickness of a coating in micrometres, never more than the wire has."""
    if coating is None:
        return _exactly(0.0)
    low, value, high = (min(factor * coating.thickness_um, 500.0 * diameter_mm) for factor in COATING_FACTOR.range)
    return (low, value, high)
