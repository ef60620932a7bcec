"""Each candidate against the best of the others: rows, verdicts, and who can still be the best (method section 5)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.more_blocks import more_blocks
from antexp.analysis.result import GAP_COLUMNS
from antexp.analysis.scopes import ScopedFit
from antexp.analysis.settings import Settings
from antexp.mixed.best import Best, compare_with_the_best
from antexp.mixed.chance import detectable_gap
from antexp.mixed.verdict import CANNOT_TELL, classify_best

BEST_OF_OTHERS = "the best of the others"


@dataclass(frozen=True)
class BestComparison:
    """Every candidate against the best of the others.

    Attributes
    ----------
    candidates : tuple of str
        The reference first.
    scope : str
        ``these specimens`` or ``any specimen``.
    best : Best or None
        The kernel's answer; None when some difference has no trustworthy error.
    pairs : Estimates
        All differences, for the degrees of freedom and for the all-pairs limits that raise a verdict.
    """

    candidates: tuple[str, ...]
    scope: str
    best: Best | None
    pairs: Estimates

    @property
    def could_be_best(self) -> tuple[str, ...]:
        """The candidates that may still be the strongest; all of them when nothing can be told."""
        if self.best is None:
            return self.candidates
        return tuple(name for name, within in zip(self.candidates, self.best.in_best_set, strict=True) if within)

    def table(self, settings: Settings, blocks: int) -> pd.DataFrame:
        """Return one row a candidate, in the columns of `GAP_COLUMNS`."""
        df = self.degrees_of_freedom()
        verdicts = self._verdicts(settings)
        rows = [
            self._row(i, float(df[i, self._rival(i)]), str(verdicts[i]), settings, blocks)
            for i in range(len(self.candidates))
        ]
        return pd.DataFrame(rows, columns=list(GAP_COLUMNS)).astype({"more_blocks": object, "verdict": object})

    def degrees_of_freedom(self) -> NDArray[np.float64]:
        """Return the degrees of freedom of every difference, shape (k, k)."""
        return _square(self.pairs.degrees_of_freedom, len(self.candidates), 1.0)

    def _rival(self, i: int) -> int:
        """Return the strongest of the others."""
        if self.best is not None:
            return int(self.best.rival[i])
        return int(np.argmin(_square(self.pairs.gap_db, len(self.candidates), -1.0)[i]))

    def _row(self, i: int, df: float, verdict: str, settings: Settings, blocks: int) -> dict[str, object]:
        """Write one candidate's row."""
        found = self.best
        unknown = float("nan")
        row: dict[str, object] = {
            **dict.fromkeys(GAP_COLUMNS, unknown), "candidate": self.candidates[i], "against": BEST_OF_OTHERS,
            "degrees_of_freedom": df, "interval_db": [unknown, unknown], "scope": self.scope, "verdict": verdict,
            "counts": True, "more_blocks": None,
        }  # fmt: skip
        if found is None:
            return row
        rival = self._rival(i)
        gap, error = float(found.gap[i]), float(found.standard_errors[i, rival])
        half = float(found.upper[i] - found.lower[i]) / 2
        extra = more_blocks(gap, half, settings.matter_db, blocks, df) if verdict == CANNOT_TELL else None
        return row | {
            "gap_db": gap,
            "standard_error_db": error,
            "interval_db": [float(found.lower[i]), float(found.upper[i])],
            "p_value": float(2.0 * special.stdtr(df, -abs(gap) / error)),
            "p_adjusted": float(found.p_adjusted[i]),
            "resolution_db": half,
            "detectable_db": detectable_gap(error, df, float(found.critical_values[i, rival]), settings.chance),
            "more_blocks": extra,
        }

    def _verdicts(self, settings: Settings) -> NDArray[np.str_]:
        """Give each candidate its verdict."""
        k = len(self.candidates)
        if self.best is None:
            return np.full(k, CANNOT_TELL)
        return classify_best(self.best.lower, self.best.in_best_set, self._far_below(settings), settings.matter_db)

    def _far_below(self, settings: Settings) -> NDArray[np.bool_]:
        """Tell which candidates lie at least matter_db below another, by the all-pairs limits."""
        k = len(self.candidates)
        if settings.matter_db is None:
            return np.zeros(k, dtype=bool)
        limits = family_limits(self.pairs, settings.confidence, settings.chance)
        upper = np.full((k, k), np.inf)
        i, j = np.triu_indices(k, 1)
        upper[i, j], upper[j, i] = limits.upper_db, -limits.lower_db
        return np.nanmin(np.where(np.isnan(upper), np.inf, upper), axis=1) <= -settings.matter_db


def compare_best(fitted: ScopedFit, confidence: float) -> BestComparison:
    """Hold each candidate against the best of the others.

    Parameters
    ----------
    fitted : ScopedFit
        The fit the comparison rests on.
    confidence : float
        Of all together.

    Returns
    -------
    BestComparison
    """
    candidates = fitted.record.model.candidates
    pairs = fitted.estimates(list(combinations(candidates, 2)))
    error = pairs.standard_error_db
    if not (np.all(np.isfinite(error)) and np.all(error > 0) and np.all(pairs.degrees_of_freedom >= 1)):
        return BestComparison(candidates, fitted.scope, None, pairs)
    first = len(candidates) - 1  # the pairs of the reference with the others come first, as reference less other
    levels = np.concatenate([[0.0], -pairs.gap_db[:first]])
    covariance = np.zeros((len(candidates), len(candidates)))
    covariance[1:, 1:] = pairs.covariance_db2[:first, :first]
    df = _square(pairs.degrees_of_freedom, len(candidates), 1.0)
    return BestComparison(candidates, fitted.scope, compare_with_the_best(levels, covariance, df, confidence), pairs)


def _square(values: NDArray[np.float64], size: int, sign: float) -> NDArray[np.float64]:
    """Lay values of all pairs out as a matrix, the other triangle times `sign`; 0 … on the diagonal infinity."""
    square = np.full((size, size), np.inf)
    i, j = np.triu_indices(size, 1)
    square[i, j], square[j, i] = values, sign * values
    return square
