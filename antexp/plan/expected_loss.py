"""What physics expects before the day, as values: of one candidate, of all, and over frequency."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from antexp.json_text import JsonText
from antexp.notices import Notice
from antexp.views import Viewable

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class ExpectedLoss:
    """What physics expects of one candidate; None wherever the plan does not say enough.

    Attributes
    ----------
    name : str
        The candidate.
    resistance_ohm_per_m : float or None, Ω/m
        Of the wire at the plan's frequency.
    loss_resistance_ohm : float or None, Ω
        At the feed.
    conductor_loss_db : float or None, dB
        What the wire's resistance costs.
    conductor_loss_range_db : tuple of float or None, dB
        The same with every uncertain constant anywhere in its range.
    mismatch_loss_db : float or None, dB
        At the end that the plan's swap_end names; from feed_ohm or swr.
    gap_to_reference_db : float or None, dB
        The reference's conductor loss minus this one's; mismatch stands apart.
    resistance_range_ohm_per_m : tuple of float or None, Ω/m
        With the constants anywhere in their ranges.
    mismatch_uncertainty_db : float or None, dB
        Standard uncertainty of the mismatch loss, for a hand-held analyser.
    gap_to_reference_range_db : tuple of float or None, dB
        Range of the gap; the shared feed resistance is the same for both.
    shortening_percent : float or None
        By how much the reactance inside the metal makes it resonate short.
    missing : tuple of str
        The plan keys that would be needed to say more.
    """

    name: str
    resistance_ohm_per_m: float | None = None
    loss_resistance_ohm: float | None = None
    conductor_loss_db: float | None = None
    conductor_loss_range_db: tuple[float, float] | None = None
    mismatch_loss_db: float | None = None
    gap_to_reference_db: float | None = None
    resistance_range_ohm_per_m: tuple[float, float] | None = None
    mismatch_uncertainty_db: float | None = None
    gap_to_reference_range_db: tuple[float, float] | None = None
    shortening_percent: float | None = None
    missing: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the expectation as the `expect` document holds it."""
        return {name: list(value) if isinstance(value, tuple) else value
                for name, value in ((field, getattr(self, field)) for field in self.__dataclass_fields__)}


@dataclass(frozen=True)
class ExpectedLosses(JsonText, Viewable):
    """What physics expects of all candidates of a plan.

    Attributes
    ----------
    title, reference, element : str
        As the plan has them.
    frequency_mhz : float or None, MHz
        The measuring frequency.
    matter_db, detectable_db : float or None, dB
        The smallest gap that matters; the true gap the day as planned notices.
    feed_resistance_ohm : tuple of float or None, Ω
        Low end, value and high end of what radiates or is lost in the ground, shared by all.
    candidates : tuple of ExpectedLoss
        In the order of the plan.
    sentences : tuple of str
        What follows from that, in plain words.
    warnings : tuple of Notice
        What to see to before the day.
    """

    title: str
    reference: str
    element: str
    frequency_mhz: float | None
    matter_db: float | None
    detectable_db: float | None
    feed_resistance_ohm: tuple[float, float, float] | None
    candidates: tuple[ExpectedLoss, ...]
    sentences: tuple[str, ...]
    warnings: tuple[Notice, ...]

    def candidate(self, name: str) -> ExpectedLoss:
        """Return the expectation of a candidate; KeyError when there is none of that name."""
        for expected in self.candidates:
            if expected.name == name:
                return expected
        raise KeyError(name)

    def to_dict(self) -> dict[str, Any]:
        """Return the `expect` document."""
        return {
            "title": self.title, "reference": self.reference, "element": self.element,
            "frequency_mhz": self.frequency_mhz, "matter_db": self.matter_db, "detectable_db": self.detectable_db,
            "feed_resistance_ohm": None if self.feed_resistance_ohm is None else list(self.feed_resistance_ohm),
            "candidates": [expected.to_dict() for expected in self.candidates],
            "sentences": list(self.sentences), "warnings": [notice.to_dict() for notice in self.warnings],
        }


@dataclass(frozen=True)
class LossCurves:
    """Conductor loss over frequency, arrays of shape (n_frequencies, n_candidates).

    Attributes
    ----------
    names : tuple of str
        The candidates whose metal is known.
    frequency_mhz : ndarray, shape (n_frequencies,), MHz
    loss_db, low_db, high_db : ndarray, dB
        Expected loss of an element cut for each frequency, and the ends of its range.
    """

    names: tuple[str, ...]
    frequency_mhz: Floats
    loss_db: Floats
    low_db: Floats
    high_db: Floats
