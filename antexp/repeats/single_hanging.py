"""How far the level of one hanging lies from that of another by chance alone, with spreads taken as known."""

from __future__ import annotations

import math
from dataclasses import dataclass

from antexp.decibels import reading_variance_db2
from antexp.errors import Fault, RepeatsError
from antexp.plan.model import Field, Meter

REHANG_SD_DB: float = Field.model_fields["rehang_sd_db"].default
READING_SD_DB: float = Meter.model_fields["reading_sd_db"].default


@dataclass(frozen=True)
class Scatter:
    """Scatter of the mean level of one hanging.

    Attributes
    ----------
    rehang_sd_db : float, dB
        Between hangings of the same specimen.
    reading_sd_db : float, dB
        Between readings of one hanging.
    readings : int
        Readings a hanging.
    step_db : float or None, dB
        Step of the display.
    """

    rehang_sd_db: float = REHANG_SD_DB
    reading_sd_db: float = READING_SD_DB
    readings: int = 1
    step_db: float | None = None

    @property
    def reading_variance_db2(self) -> float:
        """Variance that readings and rounding give the mean of a hanging, dB²."""
        return reading_variance_db2(self.reading_sd_db, self.readings, self.step_db)

    @property
    def sd_db(self) -> float:
        """Standard deviation of the mean level of a hanging, dB."""
        return math.sqrt(self.rehang_sd_db**2 + self.reading_variance_db2)

    def with_rehang(self, rehang_sd_db: float) -> Scatter:
        """Return the same with another re-hanging scatter."""
        return Scatter(rehang_sd_db, self.reading_sd_db, self.readings, self.step_db)

    def rehang_for(self, sd_db: float) -> float:
        """Return the re-hanging scatter at which a hanging scatters by `sd_db`; 0 where readings alone do."""
        return math.sqrt(max(sd_db**2 - self.reading_variance_db2, 0.0))


def checked_scatter(
    rehang_sd_db: float | None, reading_sd_db: float | None, readings: int, step_db: float | None
) -> tuple[Scatter, list[Fault]]:
    """Check the spreads of a question about bare numbers; what is None takes the default of a plan."""
    rehang = REHANG_SD_DB if rehang_sd_db is None else rehang_sd_db
    reading = READING_SD_DB if reading_sd_db is None else reading_sd_db
    faults = []
    for name, value in (("rehang_sd_db", rehang), ("reading_sd_db", reading)):
        if not (math.isfinite(value) and 0 <= value <= 30):
            faults.append(Fault(f"{name} is not a scatter", got=f"{value:g}", allowed="dB, 0 to 30"))
    if readings < 1:
        faults.append(Fault("readings is too small", got=str(readings), allowed="1 or more readings a hanging"))
    if step_db is not None and not (math.isfinite(step_db) and 0 < step_db <= 20):
        faults.append(Fault("step_db is not a step", got=f"{step_db:g}", allowed="dB, above 0 to 20"))
    if not faults and rehang == 0 and reading == 0 and step_db is None:
        faults.append(Fault("both spreads are 0, and then every gap would be real",
                            got="rehang_sd_db 0, reading_sd_db 0", allowed="at least one above 0",
                            do="Hang the same wire a few times and see how far its level moves."))
    return Scatter(rehang, reading, max(readings, 1), step_db), faults


def assumed_spreads(rehang_sd_db: float | None, reading_sd_db: float | None) -> tuple[str, ...]:
    """Read back the spreads that were not given."""
    said = []
    if rehang_sd_db is None:
        said.append(f"I assume a re-hanging scatter of {REHANG_SD_DB:g} dB (--rehang-sd).")
    if reading_sd_db is None:
        said.append(f"I assume a reading scatter of {READING_SD_DB:g} dB (--reading-sd).")
    return tuple(said)


def checked_share(name: str, value: float) -> list[Fault]:
    """Check a probability that must lie inside 0 … 1."""
    if math.isfinite(value) and 0.0 < value < 1.0:
        return []
    guess = f"For {value:g} per cent write {value / 100:g}." if 1 < value < 100 else ""
    if value == 1.0:
        guess = "No number of repeats makes it certain; 0.95 is usual." if name == "confidence" else (
            "No number of repeats makes it certain; 0.80 or 0.90 is usual.")
    return [Fault(f"{name} is not a probability", got=f"{value:g}", allowed="above 0 and below 1", do=guess)]


def refuse(faults: list[Fault]) -> None:
    """Raise all faults, if there are any.

    Raises
    ------
    RepeatsError
    """
    if faults:
        raise RepeatsError(faults)
