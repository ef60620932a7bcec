"""The judgement as a value: what `judge` found, with every number unrounded."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.budget_result import GapBudgets
from antexp.analysis.looks import Look
from antexp.analysis.spread_result import DriftSeen, Spread
from antexp.json_text import JsonText, plain
from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.views import Viewable

GAP_COLUMNS: dict[str, str] = {
    "candidate": "the candidate the gap is about",
    "against": "what it is compared with: a candidate, or 'the best of the others'",
    "gap_db": "estimated gap; positive = the first named is stronger",
    "standard_error_db": "small-sample (Kenward-Roger) standard error of the gap",
    "degrees_of_freedom": "of that standard error; a real number",
    "interval_db": "[lower, upper], valid for all comparisons that count, together",
    "p_value": "of this comparison alone, two-sided",
    "p_adjusted": "for the family; below 1 - confidence exactly when 0 lies outside the interval",
    "resolution_db": "half the width of the interval: the smallest gap this record can call real",
    "detectable_db": "the true gap that such a record notices with the wanted chance",
    "scope": "'these specimens' or 'any specimen'",
    "verdict": "what may be said; empty on a row that stands beside the one that counts",
    "counts": "true on the one row of a comparison that belongs to the family and carries its verdict",
    "more_blocks": "for 'cannot tell': how many more blocks like these would settle it if the scatter stays as seen",
}


@dataclass(frozen=True)
class Day:
    """The record as a picture needs it.

    Attributes
    ----------
    swaps : DataFrame, one row a swap
        ``swap, block, candidate, specimen, place, minutes, hours`` (hours on a common axis, blocks one after the
        other), ``readings`` (how many), ``level_db`` (their mean) and ``path_db`` (that level less the candidate's
        gap to the reference).
    readings : DataFrame, one row a reading
        ``swap, block, candidate, hours, level_db``.
    path : DataFrame
        ``block, hours, path_db``: the fitted level of the reference through each block.
    """

    swaps: pd.DataFrame
    readings: pd.DataFrame
    path: pd.DataFrame


@dataclass(frozen=True)
class Opinion:
    """What another method says of the same record.

    Attributes
    ----------
    method : str
        In plain words.
    agrees : bool or None
        Whether it says the same; None where it cannot be compared.
    text : str
        One line: what it found, or why it cannot be compared; where it disagrees, which to believe and why.
    numbers : dict
        What the line rests on, unrounded.
    """

    method: str
    agrees: bool | None
    text: str
    numbers: dict[str, Any] = field(default_factory=dict)

    def to_dict(self) -> dict[str, Any]:
        """Return the opinion as the results file holds it."""
        return {"method": self.method, "agrees": self.agrees, "text": self.text, "numbers": self.numbers}


@dataclass(frozen=True, eq=False)
class Check:
    """One question to the residuals, and the answer.

    Attributes
    ----------
    name : str
        A short key.
    question, answer : str
        In words.
    p_value : float
        How often chance alone does as much.
    worth_a_look : bool
        p below 0.05; for drift below 0.1.
    warning : str or None
        Code of the warning: for drift where p is below 0.1, for scatter 0.05, for the rest 0.01.
    data : DataFrame
        What the picture shows, one row a swap.
    candidates : tuple of str
        Whom the answer is about, where it is about some of them and worth a look.
    """

    name: str
    question: str
    answer: str
    p_value: float
    worth_a_look: bool
    warning: str | None
    data: pd.DataFrame
    candidates: tuple[str, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the check as the results file holds it, without the picture's data."""
        return {"name": self.name, "question": self.question, "answer": self.answer, "p_value": self.p_value,
                "worth_a_look": self.worth_a_look, "warning": self.warning, "candidates": list(self.candidates)}


@dataclass(frozen=True, eq=False)
class Receivers:
    """What each of several receivers saw.

    Attributes
    ----------
    p_value : float
        Of all receivers seeing the same gaps, tested against swap-by-receiver.
    gaps : DataFrame
        One row a receiver and comparison: ``receiver, candidate, against, gap_db, standard_error_db, interval_db``.
    reading_sd_db : dict of str to (float or None), dB
        Scatter of readings within a swap, receiver by receiver.
    """

    p_value: float
    gaps: pd.DataFrame
    reading_sd_db: dict[str, float | None]

    def to_dict(self) -> dict[str, Any]:
        """Return the receivers as the results file holds them."""
        return {"p_value": self.p_value, "gaps": self.gaps.to_dict(orient="records"),
                "reading_sd_db": self.reading_sd_db}


@dataclass(frozen=True, eq=False)
class Judgement(JsonText, Viewable):
    """What a record says about the gaps between its candidates.

    Attributes
    ----------
    title : str
        The plan's title, or the name of the readings file.
    reference : str
        The candidate the others are compared with.
    compare : {"reference", "each-other", "best"}
        Which comparisons were asked.
    confidence : float
        Of all comparisons together.
    chance : float
        Wanted chance of noticing, on which `detectable_db` rests.
    matter_db : float or None, dB
        The smallest gap that matters to the user.
    readings, swaps, blocks : int
        How many were used.
    candidates : tuple of str
        Those in the record, the reference first.
    gaps : DataFrame
        One row a comparison and scope; the columns are explained in `GAP_COLUMNS`.
    gaps_covariance_db2 : ndarray, shape (m, m), dB²
        Covariance of the gaps named in `gaps_covariance_of`.
    gaps_covariance_of : tuple of (str, str)
        The (candidate, against) pairs of that matrix.
    could_be_best : tuple of str
        The candidates that, at the stated confidence, may still be the strongest.
    spread : Spread
        The scatters seen.
    drift : DriftSeen
        The drift fitted.
    restricted_log_likelihood : float
        Of the fit for these specimens, in the convention that does not depend on the coding of the fixed columns.
    warnings : tuple of Notice
        What the user must know beside the numbers.
    provenance : dict
        Versions of antexp and of the libraries that compute, the SHA-256 of the plan, readings, order and bench book
        files that went in (null where there was none), the seed, and what was asked.
    day : Day
        The record for the picture of the day.
    budgets : GapBudgets or None
        Where the gaps come from, and the gaps with the mismatch taken out; None when nothing is known of it.
    second_opinions : tuple of Opinion
        What other methods say of the same record; empty when they were not asked.
    checks : tuple of Check
        Questions to the residuals; empty where too little is left over, or a coarse meter hides them.
    look : Look or None
        How far the experiment has come, and the level this look's limits stand at; None when nobody said how many
        blocks there are to be.
    specimens : tuple of (str, str)
        The (candidate, specimen) pairs in the record, so that days can be put together.
    receivers : Receivers or None
        What each receiver saw; None with one receiver, or too few swaps to tell.
    as_ranges : bool
        Whether readings were taken as ranges one step wide, because the meter is coarse, instead of as numbers.
    plan : Plan or None
        The plan it was judged with, for band, height and cautions; None without one, or from a results file.
    """

    title: str
    reference: str
    compare: str
    confidence: float
    chance: float
    matter_db: float | None
    readings: int
    swaps: int
    blocks: int
    candidates: tuple[str, ...]
    gaps: pd.DataFrame
    gaps_covariance_db2: NDArray[np.float64]
    gaps_covariance_of: tuple[tuple[str, str], ...]
    could_be_best: tuple[str, ...]
    spread: Spread
    drift: DriftSeen
    restricted_log_likelihood: float
    warnings: tuple[Notice, ...]
    provenance: dict[str, Any]
    day: Day
    budgets: GapBudgets | None = None
    second_opinions: tuple[Opinion, ...] = ()
    checks: tuple[Check, ...] = ()
    look: Look | None = None
    specimens: tuple[tuple[str, str], ...] = ()
    receivers: Receivers | None = None
    as_ranges: bool = False
    plan: Plan | None = None

    @property
    def family(self) -> pd.DataFrame:
        """The rows of `gaps` that count, one a comparison, each with its verdict."""
        return self.gaps[self.gaps["counts"]].reset_index(drop=True)

    @property
    def resolution_db(self) -> float:
        """The largest resolution over the asked gaps, dB."""
        return float(self.family["resolution_db"].max())

    def to_dict(self) -> dict[str, Any]:
        """Return the judgement as the results file holds it; what is not finite becomes None."""
        document: dict[str, Any] = {
            name: getattr(self, name)
            for name in ("title", "reference", "compare", "confidence", "chance", "matter_db", "readings", "swaps")
        }
        document |= {
            "blocks": self.blocks,
            "candidates": list(self.candidates),
            "gaps": self.gaps.to_dict(orient="records"),
            "gaps_covariance_db2": self.gaps_covariance_db2.tolist(),
            "gaps_covariance_of": [list(pair) for pair in self.gaps_covariance_of],
            "could_be_best": list(self.could_be_best),
            "matched_gaps": self.budgets.matched_rows() if self.budgets else [],
            "gap_budgets": self.budgets.rows() if self.budgets else [],
            "spread": self.spread.to_dict(),
            "drift": self.drift.to_dict(),
            "restricted_log_likelihood": self.restricted_log_likelihood,
            "warnings": [notice.to_dict() for notice in self.warnings],
            "checks": [check.to_dict() for check in self.checks],
            "second_opinions": [opinion.to_dict() for opinion in self.second_opinions],
            "look": self.look.to_dict() if self.look is not None else None,
            "specimens": [list(pair) for pair in self.specimens],
            "receivers": self.receivers.to_dict() if self.receivers is not None else None,
            "as_ranges": self.as_ranges,
            "provenance": self.provenance,
        }
        return {name: plain(value) for name, value in document.items()}
