"""The scatters and the drift that a record shows, as values."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Spread:
    """The scatters a record shows, as standard deviations.

    Attributes
    ----------
    rehang_sd_db : float or None, dB
        Between hangings of the same specimen; with one reading a swap it includes the reading scatter.
    reading_sd_db : float or None, dB
        Between readings of one swap; None with one reading a swap.
    specimen_sd_db : float or None, dB
        Between specimens of one candidate; None unless the record can tell.
    block_sd_db : float or None, dB
        Between blocks, when blocks are random; None when they are fixed.
    swap_receiver_sd_db : float or None, dB
        Of a swap as one receiver sees it against another; None with one receiver.
    """

    rehang_sd_db: float | None
    reading_sd_db: float | None
    specimen_sd_db: float | None = None
    block_sd_db: float | None = None
    swap_receiver_sd_db: float | None = None

    @property
    def repeatability_limit_db(self) -> float | None:
        """What two single hangings of one wire differ by at most, in 95 of 100 cases, dB.

        ``1.96 · √2 · s`` with s the scatter of a single hanging with a single reading (ISO 5725-6).
        """
        if self.rehang_sd_db is None:
            return None
        return 1.96 * math.sqrt(2.0) * math.hypot(self.rehang_sd_db, self.reading_sd_db or 0.0)

    def to_dict(self) -> dict[str, float | None]:
        """Return the spreads as the results file holds them."""
        return {name: getattr(self, name) for name in self.__dataclass_fields__}


@dataclass(frozen=True)
class DriftSeen:
    """The drift that was fitted inside the blocks.

    Attributes
    ----------
    form : str
        The form that was asked for.
    db_per_hour : dict of str to float
        Slope at the middle of each block that carries one.
    db_per_hour2 : dict of str to float
        Curvature (coefficient of the squared hours) of each block that carries a parabola.
    """

    form: str
    db_per_hour: dict[str, float]
    db_per_hour2: dict[str, float] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """Return the drift as the results file holds it."""
        found: dict[str, Any] = {"form": self.form, "db_per_hour": self.db_per_hour}
        return {**found, "db_per_hour2": self.db_per_hour2} if self.db_per_hour2 else found
