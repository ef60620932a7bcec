"""The judgement that other methods are held against."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.scopes import ScopedFit
from antexp.analysis.settings import Settings
from antexp.mixed.verdict import classify


@dataclass(frozen=True)
class Asked:
    """The judgement that other methods are held against.

    Attributes
    ----------
    parts : tuple of (ScopedFit, list of (str, str))
        The fits that count, each with the gaps it answers.
    these : ScopedFit
        The fit for these specimens, which the simpler methods repeat.
    family : Estimates
        All asked gaps.
    settings : Settings
        What was asked.
    """

    parts: tuple[tuple[ScopedFit, list[tuple[str, str]]], ...]
    these: ScopedFit
    family: Estimates
    settings: Settings

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """The asked gaps."""
        return list(self.family.pairs)

    @property
    def resolution_db(self) -> float:
        """The smallest half width of the limits, dB."""
        limits = family_limits(self.family, self.settings.confidence, self.settings.chance)
        half = (limits.upper_db - limits.lower_db) / 2.0
        return float(np.nanmin(half)) if np.isfinite(half).any() else float("nan")

    def verdicts(self, family: Estimates) -> list[str]:
        """Return the verdicts that a set of estimates would get."""
        limits = family_limits(family, self.settings.confidence, self.settings.chance)
        return [str(word) for word in classify(limits.lower_db, limits.upper_db, self.settings.matter_db)]


def small(asked: Asked, difference_db: float) -> bool:
    """Tell a difference that no verdict could turn on: under a tenth of the smallest half width of the limits."""
    return bool(difference_db < 0.1 * asked.resolution_db)
