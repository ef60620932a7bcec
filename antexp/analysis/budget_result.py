"""Gap budgets and matched gaps as a value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.radio.gap_budget import GapBudget

MATCHED_COLUMNS: dict[str, str] = {
    "candidate": "the candidate the gap is about",
    "against": "what it is compared with",
    "gap_db": "the gap of the wires alone: mismatch taken out",
    "standard_error_db": "with the uncertainty of the measured mismatch",
    "degrees_of_freedom": "of that standard error (Welch-Satterthwaite)",
    "interval_db": "[lower, upper], valid for all asked gaps together",
    "p_value": "of this comparison alone, two-sided",
    "p_adjusted": "for the family of all asked gaps",
    "resolution_db": "half the width of the interval",
    "detectable_db": "the true matched gap that such a record notices with the wanted chance",
    "scope": "'these specimens' or 'any specimen'",
    "verdict": "what may be said of the matched gap; the verdict that counts is that of the gap as used",
    "as_used_gap_db": "the gap as used, for comparison",
    "as_used_verdict": "the verdict as used; empty where each is compared with the best of the others",
}


@dataclass(frozen=True, eq=False)
class GapBudgets:
    """Where the gaps of a record come from.

    Two questions, both answered: *as used* is what the operator gets with this source and no retuning, and the family
    of the results; *matched* is the wire alone, each level with its mismatch loss given back.

    Attributes
    ----------
    pairs : tuple of (str, str), length m
        (candidate, against) of each gap; where each is compared with the best of the others, those to the reference.
    budget : GapBudget, arrays of shape (m,)
        The gaps as used, taken apart.
    conductor_low_db, conductor_high_db : ndarray, shape (m,), dB
        Range of the predicted share of the metal.
    matched : DataFrame
        One row a gap whose mismatch is known at both its ends; the columns are explained in `MATCHED_COLUMNS`.
    mismatch_loss_db, mismatch_u_db : dict of str to float, dB
        Of each candidate that was measured, and its standard uncertainty.
    mismatch_from : dict of str to str
        Where that was measured: ``readings``, ``bench book``, ``plan``.
    swap_end : {"source", "receiver"}
        The end where antennas are exchanged, whose mismatch it is.
    source_impedance_ohm : float, Ω
        What the antennas are connected to there.
    """

    pairs: tuple[tuple[str, str], ...]
    budget: GapBudget
    conductor_low_db: NDArray[np.float64]
    conductor_high_db: NDArray[np.float64]
    matched: pd.DataFrame
    mismatch_loss_db: dict[str, float]
    mismatch_u_db: dict[str, float]
    mismatch_from: dict[str, str]
    swap_end: str
    source_impedance_ohm: float

    def rows(self) -> list[dict[str, Any]]:
        """Return one dict a gap as the results file holds it; a share that is not known is NaN."""
        b = self.budget
        return [{
            "candidate": candidate,
            "against": against,
            "measured_db": b.measured_db[i],
            "measured_standard_error_db": b.measured_se_db[i],
            "mismatch_db": b.mismatch_db[i],
            "mismatch_uncertainty_db": b.mismatch_u_db[i],
            "conductor_db": b.conductor_db[i],
            "conductor_uncertainty_db": b.conductor_u_db[i],
            "conductor_range_db": [self.conductor_low_db[i], self.conductor_high_db[i]],
            "height_and_sag_db": b.height_db[i],
            "height_and_sag_uncertainty_db": b.height_u_db[i],
            "unexplained_db": b.unexplained_db[i],
            "unexplained_uncertainty_db": b.unexplained_u_db[i],
            "unexplained_too_large": bool(b.too_large[i]),
            "mismatch_loss_db": [self.mismatch_loss_db.get(candidate), self.mismatch_loss_db.get(against)],
            "mismatch_loss_uncertainty_db": [self.mismatch_u_db.get(candidate), self.mismatch_u_db.get(against)],
            "mismatch_from": [self.mismatch_from.get(candidate), self.mismatch_from.get(against)],
            "swap_end": self.swap_end,
            "source_impedance_ohm": self.source_impedance_ohm,
        } for i, (candidate, against) in enumerate(self.pairs)]

    def matched_rows(self) -> list[dict[str, Any]]:
        """Return the matched gaps as the results file holds them."""
        return [{str(name): value for name, value in row.items()} for row in self.matched.to_dict(orient="records")]

    @property
    def decided_by_mismatch(self) -> list[dict[str, Any]]:
        """Return the matched gaps that have another verdict than as used."""
        return [row for row in self.matched_rows() if row["as_used_verdict"] not in (None, row["verdict"])]

    @property
    def not_explained(self) -> list[tuple[str, str]]:
        """Return the gaps of which chance and the known physics leave too much over."""
        return [pair for pair, odd in zip(self.pairs, self.budget.too_large, strict=True) if odd]
