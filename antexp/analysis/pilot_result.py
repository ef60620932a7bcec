"""What a pilot says: the verdict on the set-up, its spreads, and the lines of the plan that follow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from antexp.analysis.setup_checks import MEND, NOT_DONE, UNCLEAR, SetupCheck
from antexp.analysis.variance_limits import ScatterEstimate
from antexp.decibels import rounded_up_db
from antexp.json_text import JsonText
from antexp.views import Viewable

GO = "go"
DECIDED_BY = {"mend": MEND, "read again": UNCLEAR, "go, not all tested": NOT_DONE}
"""Every other verdict, the gravest first, and the status of a check that leads to it."""


@dataclass(frozen=True)
class Slope:
    """A steady drift with its limits.

    Attributes
    ----------
    db_per_hour : float
    low_db_per_hour, high_db_per_hour : float
    degrees_of_freedom : float
    """

    db_per_hour: float
    low_db_per_hour: float
    high_db_per_hour: float
    degrees_of_freedom: float

    def to_dict(self) -> dict[str, float]:
        """Return the slope as the document holds it."""
        return dict(self.__dict__)


@dataclass(frozen=True)
class Pilot(JsonText, Viewable):
    """What the pilot says.

    Attributes
    ----------
    verdict : str
        ``"go"``, ``"mend"`` (a check failed), ``"read again"`` (a check is not clear) or ``"go, not all tested"``.
    checks : tuple of SetupCheck
    rehang : ScatterEstimate
        Scatter between hangings.
    reading : ScatterEstimate or None
        Scatter of readings within a swap; None with one reading a swap and no hold-still: then `rehang` holds both.
    still : ScatterEstimate or None
        Scatter of the hold-still readings about a line.
    drift : Slope or None
        Over the hangings.
    still_drift : Slope or None
        Over the hold-still.
    hangings, readings : int
        How many the spreads rest on.
    remarks : tuple of str
        What is worth knowing, in words.
    """

    verdict: str
    checks: tuple[SetupCheck, ...]
    rehang: ScatterEstimate
    reading: ScatterEstimate | None
    still: ScatterEstimate | None
    drift: Slope | None
    still_drift: Slope | None
    hangings: int
    readings: int
    remarks: tuple[str, ...]

    @property
    def for_the_plan(self) -> str:
        """Return the spreads as lines to paste into the plan: the estimates, their upper limits as remarks."""
        lines = ["[field]", f"rehang_sd_db = {rounded_up_db(self.rehang.sd_db):.2f}  # {_limits(self.rehang)}"]
        if self.drift is not None:
            largest = max(abs(self.drift.low_db_per_hour), abs(self.drift.high_db_per_hour))
            lines.append(f"drift_db_per_hour = {rounded_up_db(abs(self.drift.db_per_hour)):.2f}  # from one stretch "
                         f"only; it may have been up to {rounded_up_db(largest):.2f}")
        if self.reading is not None:
            lines += ["[meter]", f"reading_sd_db = {rounded_up_db(self.reading.sd_db):.2f}  # {_limits(self.reading)}"]
        return "\n".join(lines) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """Return the document that ``antexp pilot --json`` prints."""
        return {
            "verdict": self.verdict,
            "checks": [check.to_dict() for check in self.checks],
            "rehang_sd_db": self.rehang.to_dict(),
            "reading_sd_db": None if self.reading is None else self.reading.to_dict(),
            "still_sd_db": None if self.still is None else self.still.to_dict(),
            "drift": None if self.drift is None else self.drift.to_dict(),
            "still_drift": None if self.still_drift is None else self.still_drift.to_dict(),
            "hangings": self.hangings,
            "readings": self.readings,
            "remarks": list(self.remarks),
            "for_the_plan": self.for_the_plan,
        }


def _limits(scatter: ScatterEstimate) -> str:
    """Write limits as a remark."""
    return (f"between {scatter.low_db:.2f} and {rounded_up_db(scatter.high_db):.2f} at {100 * scatter.confidence:g} %, "
            f"{scatter.degrees_of_freedom:g} degrees of freedom")
