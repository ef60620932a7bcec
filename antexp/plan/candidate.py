"""What is compared."""

from __future__ import annotations

from typing import Annotated

from antexp.plan import unit_guesses as guesses
from antexp.plan.frozen import Frozen
from antexp.plan.quantities import LONGEST_NAME, impedance, line_of_text, number, whole, whole_list, word
from antexp.plan.words import MATERIALS, MOST_BLOCKS

MOST_SPECIMENS = 99

_MATERIAL = word(MATERIALS)
_RESISTIVITY = number(1e-9, 1e-3, "ohm metre", guess=guesses.ohm_metres)
_PERMEABILITY = number(0.9, 1e5)
_LABEL = line_of_text(LONGEST_NAME, label=True)


class Coating(Frozen):
    """A metal layer on a wire.

    Attributes
    ----------
    material : str or None
        One of `antexp.plan.words.MATERIALS`.
    thickness_um : float
        How thick it is, in micrometres.
    resistivity_ohm_m, relative_permeability : float or None
        Instead of a material's name.
    """

    material: Annotated[str | None, _MATERIAL] = None
    thickness_um: Annotated[float, number(0.01, 5000, "micrometres", guess=guesses.micrometres)]
    resistivity_ohm_m: Annotated[float | None, _RESISTIVITY] = None
    relative_permeability: Annotated[float | None, _PERMEABILITY] = None


class Candidate(Frozen):
    """One thing that is compared.

    Attributes
    ----------
    name : str
        What people call it; unique within the plan, blanks and capitals not counted.
    material : str or None
        The metal, one of `antexp.plan.words.MATERIALS`; with a coating, that of the core. Never guessed.
    diameter_mm : float or None
        Outside of the metal, coating included, millimetres.
    coating : Coating or None
        A metal layer on the core.
    strands : int
        1 for solid wire.
    insulation_mm : float or None
        How thick the cover is, millimetres; None for bare wire.
    insulation_permittivity : float or None
        Relative permittivity of the cover.
    specimens : int
        How many antennas are made of it.
    feed_ohm : complex or None
        Measured feed impedance, ohms.
    swr : float or None
        Measured standing wave ratio, where no impedance is known.
    resistivity_ohm_m, relative_permeability : float or None
        Instead of a material's name.
    price_per_m : float or None
        In the user's currency.
    mass_g_per_m : float or None
        Grams per metre.
    breaking_load_n : float or None
        Newtons.
    lives_where : str or None
        Where it will hang for years, in the user's words.
    available_in_blocks : tuple of int or None
        The blocks in which it can be hung; None for all.
    repeats : int
        How many times as often as an ordinary candidate it is hung.
    """

    name: Annotated[str, _LABEL]
    material: Annotated[str | None, _MATERIAL] = None
    diameter_mm: Annotated[float | None, number(0.01, 50, "millimetres", guess=guesses.millimetres)] = None
    coating: Coating | None = None
    strands: Annotated[int, whole(1, 10_000)] = 1
    insulation_mm: Annotated[float | None, number(0, 50, "millimetres", above=True)] = None
    insulation_permittivity: Annotated[float | None, number(1, 100)] = None
    specimens: Annotated[int, whole(1, MOST_SPECIMENS)] = 1
    feed_ohm: Annotated[complex | None, impedance()] = None
    swr: Annotated[float | None, number(1, 100)] = None
    resistivity_ohm_m: Annotated[float | None, _RESISTIVITY] = None
    relative_permeability: Annotated[float | None, _PERMEABILITY] = None
    price_per_m: Annotated[float | None, number(0, 1e6)] = None
    mass_g_per_m: Annotated[float | None, number(0, 1e5, "grams per metre", above=True)] = None
    breaking_load_n: Annotated[float | None, number(0, 1e7, "newtons", above=True)] = None
    lives_where: Annotated[str | None, line_of_text()] = None
    available_in_blocks: Annotated[tuple[int, ...] | None, whole_list(1, MOST_BLOCKS)] = None
    repeats: Annotated[int, whole(1, 20)] = 1

    @property
    def specimen_labels(self) -> tuple[str, ...]:
        """Return the labels of its specimens, ``"1"``, ``"2"`` and so on, named within the candidate."""
        return tuple(str(number) for number in range(1, self.specimens + 1))
