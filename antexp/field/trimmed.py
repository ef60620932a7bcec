"""The trim of a plan's specimens, as values."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from antexp.json_text import JsonText
from antexp.notices import Notice
from antexp.views import Viewable


@dataclass(frozen=True)
class Trim:
    """The trim of one specimen; None where it was not measured or cannot be said.

    Attributes
    ----------
    name, specimen : str
        Candidate and specimen.
    leg_m : float or None, m
        One leg of a dipole, or the height of a vertical, as last measured.
    resonance_mhz : float or None, MHz
        Where that resonated.
    target_mhz : float, MHz
        The plan's frequency.
    new_leg_m : float, m
        The leg that resonates at the target; without a measurement the length to begin with.
    cut_m : float or None, m
        To take off each leg; negative: to add.
    khz_per_cm : float or None, kHz/cm
        By how much resonance rises for a centimetre off each leg.
    mistuning_cost_db : float or None, dB
        What leaving it costs in mismatch; needs the wire's diameter.
    measurements : int
        How many lengths the answer rests on.
    height_m : float or None, m
        How high it hung when last measured.
    where : str
        Where the analyser was.
    """

    name: str
    specimen: str
    leg_m: float | None
    resonance_mhz: float | None
    target_mhz: float
    new_leg_m: float
    cut_m: float | None
    khz_per_cm: float | None
    mistuning_cost_db: float | None
    measurements: int = 0
    height_m: float | None = None
    where: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the row as the `trim` document holds it."""
        return {field.name: getattr(self, field.name) for field in fields(self)}


@dataclass(frozen=True)
class TrimSheet(JsonText, Viewable):
    """The trims of all specimens.

    Attributes
    ----------
    candidates : tuple of Trim
        One a specimen, in the order of the plan.
    bench_list : tuple of str
        Steps to be ticked, in order.
    warnings : tuple of Notice
        What may make the measured resonance another than that of the test.
    """

    candidates: tuple[Trim, ...]
    bench_list: tuple[str, ...]
    warnings: tuple[Notice, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the `trim` document."""
        return {"candidates": [trim.to_dict() for trim in self.candidates], "bench_list": list(self.bench_list),
                "warnings": [notice.to_dict() for notice in self.warnings]}
