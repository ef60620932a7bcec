"""A number from outside, with its range and where it comes from.

The numbers of this kernel that are not arithmetic stand in tables of `Constant`, so that an answer can carry their
range and the documentation can list every one with its source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Standing = Literal["standard", "handbook", "from memory", "common practice, no source", "judgement, no source"]
"""How well a number is founded: read in a standard or handbook, recalled, customary, or our own judgement."""

Range = tuple[float, float, float]
"""Low end, the value itself, high end."""


@dataclass(frozen=True)
class Constant:
    """One number and what is known about it.

    Attributes
    ----------
    name : str
        What it is, in words.
    value : float
        The number that is used when one number is asked for.
    low, high : float
        Between these it lies; both equal `value` where it is exact.
    unit : str
        Its unit, empty for a pure number.
    source : str
        Where it was read.
    standing : str
        How well it is founded, one of `Standing`.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str
    source: str
    standing: Standing

    def __post_init__(self) -> None:
        """Refuse a value outside of its own range."""
        if not self.low <= self.value <= self.high:
            raise ValueError(f"{self.name}: {self.value} lies outside of {self.low} … {self.high}")

    @property
    def range(self) -> Range:
        """Low end, the value itself, high end."""
        return (self.low, self.value, self.high)


def exact(name: str, value: float, unit: str, source: str) -> Constant:
    """Return a constant without a range, fixed by a standard."""
    return Constant(name, value, value, value, unit, source, "standard")


SPEED_OF_LIGHT = exact("speed of light", 299_792_458.0, "m/s", "SI brochure, 9th edition")
MAGNETIC_CONSTANT = exact("magnetic constant μ0", 1.25663706212e-6, "H/m", "CODATA 2018")
ELECTRIC_CONSTANT = exact("electric constant ε0", 8.8541878128e-12, "F/m", "CODATA 2018")
BOLTZMANN = exact("Boltzmann constant", 1.380649e-23, "J/K", "SI brochure, 9th edition")
REFERENCE_TEMPERATURE = exact("reference temperature of noise figures", 290.0, "K", "ITU-R P.372")

NATURE = (SPEED_OF_LIGHT, MAGNETIC_CONSTANT, ELECTRIC_CONSTANT, BOLTZMANN, REFERENCE_TEMPERATURE)
"""The constants of nature and convention."""
