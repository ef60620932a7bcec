"""What a judgement was asked to do: the caller's words before the plan's, the plan's before the defaults."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy import special

from antexp.errors import Fault, JudgementError
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.words import COMPARES, DRIFTS


@dataclass(frozen=True)
class Settings:
    """How a record is to be judged.

    Attributes
    ----------
    reference : str or None
        The candidate the others are compared with; None: the first that occurs.
    compare : str
        One of `antexp.plan.words.COMPARES`.
    confidence : float
        Of all comparisons together, inside (0, 1).
    chance : float
        Wanted chance of noticing, inside (0, 1).
    matter_db : float or None, dB
        The smallest gap that matters.
    drift : str
        One of `antexp.plan.words.DRIFTS`.
    end_confidence : float or None
        At which the limits stand after the last planned block; None: at `confidence` too.
    """

    reference: str | None
    compare: str
    confidence: float
    chance: float
    matter_db: float | None
    drift: str
    end_confidence: float | None = None

    def end_over_now(self, degrees_of_freedom: float) -> float:
        """Return by which factor limits become narrower at the end of the looks, for the same readings."""
        if self.end_confidence is None:
            return 1.0
        now, end = (0.5 * (1.0 - confidence) for confidence in (self.confidence, self.end_confidence))
        return float(special.stdtrit(degrees_of_freedom, end) / special.stdtrit(degrees_of_freedom, now))


def settle(
    plan: Plan | None,
    reference: str | None = None,
    compare: str | None = None,
    confidence: float | None = None,
    chance: float | None = None,
    matter_db: float | None = None,
    drift: str | None = None,
) -> tuple[Settings, tuple[Notice, ...]]:
    """Settle what is asked.

    Parameters
    ----------
    plan : Plan or None
        The plan the record belongs to.
    reference, compare, confidence, chance, matter_db, drift
        The caller's own words, which go before the plan's.

    Returns
    -------
    settings : Settings
    notices : tuple of Notice
        ``drift-form-not-as-planned`` and ``no-matter-db`` where they apply.

    Raises
    ------
    JudgementError
        All values that are not allowed, at once.
    """
    faults = [*_word_faults("compare", compare, COMPARES), *_word_faults("drift", drift, DRIFTS)]
    faults += [*share_faults("confidence", confidence), *share_faults("chance", chance), *matter_faults(matter_db)]
    if faults:
        raise JudgementError(faults)
    settings = Settings(
        reference if reference is not None else plan.reference if plan else None,
        compare or (plan.question.compare if plan else "reference"),
        confidence or (plan.question.confidence if plan else 0.95),
        chance or (plan.question.chance if plan else 0.80),
        matter_db if matter_db is not None else plan.question.matter_db if plan else None,
        drift or (plan.field.drift if plan else "steady"),
    )
    return settings, _notices(settings, plan)


def _notices(settings: Settings, plan: Plan | None) -> tuple[Notice, ...]:
    """Say where the judgement leaves the plan, and what it cannot say for want of matter_db."""
    found = []
    if plan is not None and settings.drift != plan.field.drift:
        found.append(
            Notice(
                "drift-form-not-as-planned",
                f"The plan declared the drift as {plan.field.drift!r}; this judgement used {settings.drift!r}. A form "
                "chosen after seeing the readings makes the stated confidence a little too good.",
            )
        )
    if settings.matter_db is None:
        found.append(
            Notice(
                "no-matter-db",
                "No gap that matters was stated (matter_db, --matter), so antexp can say which gaps are real but not "
                "which of them matter.",
            )
        )
    return tuple(found)


def _word_faults(name: str, value: str | None, allowed: tuple[str, ...]) -> list[Fault]:
    """Check a word against those allowed."""
    if value is None or value in allowed:
        return []
    return [Fault(f"{name} is not known", got=repr(value), allowed=", ".join(allowed))]


def matter_faults(matter_db: float | None) -> list[Fault]:
    """Check a gap that is to matter; None is none."""
    if matter_db is None or (math.isfinite(matter_db) and 0 < matter_db <= 100):
        return []
    return [Fault("matter_db is not a gap", got=f"{matter_db:g}", allowed="dB above 0, at most 100")]


def share_faults(name: str, value: float | None) -> list[Fault]:
    """Check a probability; None is none."""
    if value is None or (math.isfinite(value) and 0.0 < value < 1.0):
        return []
    guess = f"For {value:g} per cent write {value / 100:g}." if 1 < value < 100 else ""
    return [Fault(f"{name} is not a probability", got=f"{value:g}", allowed="above 0 and below 1", do=guess)]
