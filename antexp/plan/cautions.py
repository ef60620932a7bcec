"""Where people can be hurt on a measuring day: cautions for a plan, with its own distances in metres.

They are the usual ones, said so that they can stand on a sheet. Local codes, the network operator, the licensing
authority and licensed practice decide; where they say otherwise, they are followed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from antexp.decibels import dbm_to_watt
from antexp.plan.model import Plan
from antexp.radio.element import wavelength_m
from antexp.radio.exposure import exposure_distance_m

FEW_WATTS = 5.0
"""From this power on people are kept at a distance (common practice, no source)."""

DIPOLE_GAIN_DBI = 2.15
"""Half-wave dipole in free space, 10·log10 1.64 (textbooks)."""

_NEAR_FIELD_WAVELENGTHS = 1 / (2 * math.pi)
"""Closer than this the field is stronger than the far-field formula says."""


@dataclass(frozen=True)
class Caution:
    """One caution.

    Attributes
    ----------
    about : str
        A word that tells it from the others: ``"power lines"``.
    text : str
        What to do, in one or two sentences.
    distance_m : float or None
        The distance to keep, where there is one.
    """

    about: str
    text: str
    distance_m: float | None = None

    def to_dict(self) -> dict[str, str | float | None]:
        """Return the caution as the documents hold it."""
        return {"about": self.about, "text": self.text, "distance_m": self.distance_m}


def fall_radius_m(plan: Plan) -> float | None:
    """Return how far mast, element and halyard together can reach when they fall or swing.

    Returns
    -------
    float or None, m
        Support height, plus the element's length, plus a halyard as long as the support is high; rounded up to a
        metre. None when the plan does not give the height or the frequency.
    """
    radio = plan.radio
    if radio.frequency_mhz is None or radio.height_m is None:
        return None
    length = element_length_m(plan) or 0.0
    return float(math.ceil(2 * radio.height_m + length))


def element_length_m(plan: Plan) -> float | None:
    """Return the length of the element, tip to tip or base to top, in m; None without a frequency."""
    if plan.radio.frequency_mhz is None:
        return None
    part = 0.25 if plan.radio.element == "quarter-wave vertical" else 0.5
    return part * float(wavelength_m(plan.radio.frequency_mhz))


def exposure_m(plan: Plan) -> float | None:
    """Return the exposure distance above a few watts, rounded up to a metre; None below, or when power is not given."""
    radio = plan.radio
    if radio.source_power_dbm is None or radio.frequency_mhz is None:
        return None
    power_w = float(dbm_to_watt(radio.source_power_dbm))
    if power_w < FEW_WATTS:
        return None
    distance = float(exposure_distance_m(power_w, DIPOLE_GAIN_DBI, radio.frequency_mhz))
    if math.isnan(distance):
        return None
    return float(math.ceil(max(distance, _NEAR_FIELD_WAVELENGTHS * float(wavelength_m(radio.frequency_mhz)))))


def cautions(plan: Plan) -> tuple[Caution, ...]:
    """Return the cautions for a plan, the one that kills most first.

    Parameters
    ----------
    plan : Plan
        Its heights, frequency and power give the distances.
    """
    return (_power_lines(plan), *_WEATHER, _dummy_load(plan), *_HANDS, _transmitting(plan), *_PLACE, _LOCAL)


def _power_lines(plan: Plan) -> Caution:
    radius = fall_radius_m(plan)
    reach = (f"stay at least {radius:.0f} m (what mast, element and halyard can reach when they fall)" if radius else
             "stay further than mast, element and halyard together can reach when they fall")
    return Caution("power lines", f"Overhead lines: {reach} and the distance the network operator asks for, "
                   "whichever is more. Never pull on a rope or wire that has snagged near a line: leave it and call "
                   "the operator.", radius)


_WEATHER = (
    Caution("lightning", "At the first thunder stop, leave the antennas and take shelter; go on 30 minutes after the "
            "last thunder."),
    Caution("wind", "Agree on a wind limit before the day and lower everything when it is reached."),
)


def _dummy_load(plan: Plan) -> Caution:
    where = ("" if plan.radio.swap_end == "source" else " The swaps are at the receiving end: its antenna may still be "
             "connected to something that transmits, so the same call is made there.")
    return Caution("dummy load", "At every swap: source into the dummy load, confirmed by voice, before anyone lowers "
                   f"or touches an antenna.{where}")


_HANDS = (
    Caution("masts", "Guy every mast and flag the guys; nobody stands under a mast that goes up or comes down."),
    Caution("wire", "Hard wire springs when it is let go: eye protection and gloves."),
    Caution("fences", "Never use a fence as a support, and keep wires away from electric fences and their energisers."),
)


def _transmitting(plan: Plan) -> Caution:
    distance = exposure_m(plan)
    people = (f" Keep people at least {distance:.0f} m from the antenna while it transmits (estimate from the ICNIRP "
              "2020 reference levels; the local rules decide)." if distance else
              " Above a few watts keep people at the exposure distance that the local rules give.")
    return Caution("transmitting", "Transmit only with a licence, on a band and with a power it allows; listen first "
                   f"and identify the station.{people}", distance)


_PLACE = (
    Caution("place", "Ask the landowner; mind animals, days of fire danger, and height limits near airfields."),
)

_LOCAL = Caution("local rules", "Local codes and licensed practice come first; where they say otherwise, follow them.")
