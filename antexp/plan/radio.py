"""Band, antenna and path."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import model_validator

from antexp.plan import unit_guesses as guesses
from antexp.plan.frozen import Frozen
from antexp.plan.quantities import number, word
from antexp.plan.words import (
    ELEMENTS,
    GROUNDS,
    NOISES,
    POLARISATIONS,
    SWAP_ENDS,
    Element,
    Polarisation,
    SwapEnd,
)

COMMON_GROUND_LOSS_OHM = 12.0  # common practice, no source: 4 to 25 ohm for a few to many radials


class Radio(Frozen):
    """Band, antenna and path. What is None is not known, and what rests on it stays unsaid.

    Attributes
    ----------
    frequency_mhz : float or None
        The measuring frequency.
    element : str
        ``"quarter-wave vertical"`` or ``"half-wave dipole"``.
    ground_loss_ohm : float
        Vertical: loss in ground and radials, ohms; 0 for a dipole.
    source_impedance_ohm : float
        What the antenna is connected to, ohms.
    swap_end : str
        The end where antennas are exchanged: ``"source"`` or ``"receiver"``.
    distance_m : float or None
        Between the two ends, metres.
    height_m : float or None
        Of the antenna that is swapped, above ground, metres.
    receive_height_m : float or None
        Of the one that is not, above ground, metres.
    polarisation : str
        ``"vertical"`` or ``"horizontal"``; as the element hangs where it is left out.
    ground : str or None
        A ground of ITU-R P.527.
    permittivity, conductivity_s_per_m : float or None
        Instead of a ground's name.
    source_power_dbm : float or None
        Power of the source.
    noise : str or None
        An environment of ITU-R P.372.
    """

    frequency_mhz: Annotated[float | None, number(0.1, 1000, "MHz", guess=guesses.megahertz)] = None
    element: Annotated[Element, word(ELEMENTS)] = "half-wave dipole"
    ground_loss_ohm: Annotated[float, number(0, 1000, "ohms")] = 0.0
    source_impedance_ohm: Annotated[float, number(0, 10_000, "ohms", above=True)] = 50.0
    swap_end: Annotated[SwapEnd, word(SWAP_ENDS)] = "source"
    distance_m: Annotated[float | None, number(0, 1e7, "metres", above=True)] = None
    height_m: Annotated[float | None, number(0, 1000, "metres")] = None
    receive_height_m: Annotated[float | None, number(0, 1000, "metres")] = None
    polarisation: Annotated[Polarisation, word(POLARISATIONS)] = "horizontal"
    ground: Annotated[str | None, word(GROUNDS)] = None
    permittivity: Annotated[float | None, number(1, 100)] = None
    conductivity_s_per_m: Annotated[float | None, number(0, 100, "siemens per metre")] = None
    source_power_dbm: Annotated[float | None, number(-150, 70, "dBm")] = None
    noise: Annotated[str | None, word(NOISES)] = None

    @model_validator(mode="before")
    @classmethod
    def _as_the_element_hangs(cls, data: Any) -> Any:
        """Let polarisation and ground loss follow the element where they are left out."""
        if isinstance(data, dict) and data.get("element") == "quarter-wave vertical":
            return {"polarisation": "vertical", "ground_loss_ohm": COMMON_GROUND_LOSS_OHM, **data}
        return data
