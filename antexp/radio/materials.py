"""Resistivity and permeability of wire metals, each with its range and its source.

A metal is looked up by the exact name of the table; nothing is ever guessed from what a wire is called on its reel.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from antexp.radio.constants import Constant, Standing, exact

PERMEABILITY_SOURCE = ("values of 1018 steel fall from about 280 near DC to about 90 at 100 kHz and further with "
                       "frequency; R goes with the root")


@dataclass(frozen=True)
class Material:
    """A metal as a conductor.

    Attributes
    ----------
    name : str
        The name it is looked up by.
    resistivity_ohm_m : Constant
        At 20 °C, Ω·m.
    temperature_coefficient_per_k : Constant
        Relative change of resistivity a kelvin, at 20 °C.
    relative_permeability : Constant
        At HF.
    """

    name: str
    resistivity_ohm_m: Constant
    temperature_coefficient_per_k: Constant
    relative_permeability: Constant


def _metal(name: str, resistivity: tuple[float, float, float], alpha: tuple[float, float, float], source: str,
           standing: Standing, permeability: Constant | None = None) -> Material:
    """Return a material from (value, low, high) triples; non-magnetic unless said otherwise."""
    nonmagnetic = exact(f"{name}: relative permeability", 1.0, "", "non-magnetic metal")
    return Material(
        name,
        Constant(f"{name}: resistivity at 20 °C", *resistivity, "Ω·m", source, standing),
        Constant(f"{name}: temperature coefficient at 20 °C", *alpha, "1/K", source, standing),
        permeability or nonmagnetic,
    )


def _ferrous(name: str) -> Constant:
    return Constant(f"{name}: relative permeability at HF", 100.0, 30.0, 200.0, "", PERMEABILITY_SOURCE,
                    "common practice, no source")


MATERIALS: dict[str, Material] = {metal.name: metal for metal in (
    _metal("copper", (1 / 58e6, 1.70e-8, 1.78e-8), (0.00393, 0.0038, 0.0040),
           "IEC 60028, annealed (100 % IACS); range up to hard-drawn", "standard"),
    _metal("hard-drawn copper", (1.772e-8, 1.74e-8, 1.80e-8), (0.00382, 0.0038, 0.0039), "97.3 % IACS", "from memory"),
    _metal("aluminium", (2.826e-8, 2.70e-8, 3.30e-8), (0.00403, 0.0036, 0.0043),
           "1350-H19; ASTM B233 gives 2.790e-8 to 2.813e-8 for other tempers; range up to conductor alloys",
           "from memory"),
    _metal("zinc", (5.90e-8, 5.70e-8, 6.50e-8), (0.0037, 0.0035, 0.0042),
           "handbook table of pure metals; range for alloyed layers", "handbook"),
    _metal("tin", (1.09e-7, 1.09e-7, 1.25e-7), (0.0045, 0.0042, 0.0047),
           "handbook table of pure metals; 1.25e-7 stands elsewhere", "handbook"),
    _metal("iron", (9.61e-8, 9.6e-8, 1.1e-7), (0.0065, 0.005, 0.0066), "pure iron", "from memory", _ferrous("iron")),
    _metal("steel", (1.43e-7, 1.2e-7, 1.8e-7), (0.004, 0.003, 0.005), "handbook table, low carbon (1010)", "handbook",
           _ferrous("steel")),
    _metal("welding steel", (2.5e-7, 2.0e-7, 3.0e-7), (0.003, 0.002, 0.004),
           "estimate from the composition of welding wire", "judgement, no source", _ferrous("welding steel")),
    _metal("stainless", (7.3e-7, 7.2e-7, 7.5e-7), (0.001, 0.0008, 0.0011),
           "EN 10088-1: 304 7.3e-7, 316 7.5e-7; temperature coefficient from memory", "standard",
           Constant("stainless: relative permeability at HF", 1.0, 1.0, 1.3, "",
                    "austenitic; cold drawing can leave a little magnetic martensite", "from memory")),
    _metal("brass", (6.16e-8, 6.0e-8, 6.6e-8), (0.0015, 0.001, 0.002), "C26000, 28 % IACS", "handbook"),
    _metal("silver", (1.59e-8, 1.58e-8, 1.65e-8), (0.0038, 0.0037, 0.0041), "handbook table of pure metals",
           "handbook"),
    _metal("phosphor bronze", (1.15e-7, 0.95e-7, 1.2e-7), (0.0007, 0.0005, 0.001), "C51000, 15 % IACS", "from memory"),
)}
"""The metals by name."""


def resistivity_at(resistivity_20_ohm_m: ArrayLike, coefficient_per_k: ArrayLike,
                   temperature_c: ArrayLike) -> np.ndarray:
    """Return resistivity at another temperature than 20 °C.

    Parameters
    ----------
    resistivity_20_ohm_m : array_like, Ω·m
    coefficient_per_k : array_like, 1/K
    temperature_c : array_like, °C
        Within about −40 … 100, where the law is linear.

    Returns
    -------
    ndarray, Ω·m
        ρ = ρ20·[1 + α20·(T − 20)]

    References
    ----------
    IEC 60028.
    """
    warming = np.asarray(temperature_c, float) - 20.0
    return np.asarray(resistivity_20_ohm_m, float) * (1.0 + np.asarray(coefficient_per_k, float) * warming)
