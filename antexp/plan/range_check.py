"""The `check` of a plan: whether its range can carry the question. Fit, fit with cautions, or not fit, and why."""

from __future__ import annotations

import os
from dataclasses import dataclass
from typing import Any, Literal

from antexp.json_text import JsonText
from antexp.notices import Notice
from antexp.plan.cautions import Caution, cautions
from antexp.plan.expected_loss import ExpectedLosses
from antexp.plan.expected_losses import expected_losses
from antexp.plan.model import Plan
from antexp.plan.range_facts import range_facts
from antexp.plan.range_numbers import RangeFacts
from antexp.plan.range_questions import troubles
from antexp.plan.reader import as_plan

Verdict = Literal["fit", "fit with cautions", "not fit"]

@dataclass(frozen=True)
class RangeCheck(JsonText):
    """What a plan's range can and cannot carry.

    Attributes
    ----------
    title : str
        The plan's.
    verdict : {"fit", "fit with cautions", "not fit"}
    why : tuple of str
        What speaks against it, the worst first; empty when it is fit.
    range : RangeFacts
        The numbers.
    expected : ExpectedLosses
        What physics expects of the candidates.
    warnings : tuple of Notice
    cautions : tuple of Caution
        Where people can be hurt.
    assumptions : tuple of str
        What the plan left to antexp.
    """

    title: str
    verdict: Verdict
    why: tuple[str, ...]
    range: RangeFacts
    expected: ExpectedLosses
    warnings: tuple[Notice, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the `check` document of a plan."""
        return {
            "title": self.title, "verdict": self.verdict, "why": list(self.why), "range": self.range.to_dict(),
            "detectable_db": self.expected.detectable_db,
            "expected": self.expected.to_dict()["candidates"], "sentences": list(self.expected.sentences),
            "warnings": [notice.to_dict() for notice in self.warnings],
            "cautions": [caution.to_dict() for caution in self.cautions], "assumptions": list(self.assumptions),
        }


def check_range(plan: str | os.PathLike[str] | Plan, detectable_db: float | None = None) -> RangeCheck:
    """Check the range of a plan.

    Parameters
    ----------
    plan : path or Plan
    detectable_db : float, optional, dB
        The true gap the day as planned notices (from `repeats`), set against the expected gaps.

    Returns
    -------
    RangeCheck

    Raises
    ------
    FileError, PlanError
        When the plan's file is at fault.
    """
    plan = as_plan(plan)
    facts, expected = range_facts(plan), expected_losses(plan, detectable_db)
    found = troubles(plan, facts)
    verdict: Verdict = "not fit" if found and found[0].fatal else "fit with cautions" if found else "fit"
    notices = tuple(trouble.notice for trouble in found) + expected.warnings
    return RangeCheck(plan.title, verdict, tuple(trouble.notice.text for trouble in found), facts, expected, notices,
                      cautions(plan), plan.assumptions)
