"""Each candidate against the best of the others: rows, verdicts, and who can still be the best (method section 5)."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import special

from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.gap_table import gaps_frame
from antexp.analysis.more_blocks import more_blocks
from antexp.analysis.result import GAP_COLUMNS
from antexp.analysis.scopes import ScopedFit
from antexp.analysis.settings import Settings
from antexp.mixed.best import Best, compare_with_the_best, limits_by_all_pairs
from antexp.mixed.chance import detectable_gap
from antexp.mixed.verdict import CANNOT_TELL, classify_best

BEST_OF_OTHERS = "the best of the others"


@dataclass(frozen=True)
class AllPairs:
    """What the limits of all pairs say of each candidate's gap to the best of the others.

    Attributes
    ----------
    lower_db, upper_db : ndarray, shape (k,), dB
        Limits of the gap; NaN where a pair has none.
    half_db : ndarray, shape (k, k), dB
        Half widths of all differences; infinite on the diagonal.
    """

    lower_db: NDArray[np.float64]
    upper_db: NDArray[np.float64]
    half_db: NDArray[np.float64]


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
        All differences, for the degrees of freedom and for the limits of all pairs, which tell whether a gap is real.
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
        by_pairs = self._by_pairs(settings)
        verdicts = self._verdicts(settings, by_pairs)
        rows = [
            self._row(i, float(df[i, self._rival(i)]), str(verdicts[i]), by_pairs, settings, blocks)
            for i in range(len(self.candidates))
        ]
        return gaps_frame(rows)

    def degrees_of_freedom(self) -> NDArray[np.float64]:
        """Return the degrees of freedom of every difference, shape (k, k)."""
        return _square(self.pairs.degrees_of_freedom, len(self.candidates), 1.0)

    def _rival(self, i: int) -> int:
        """Return the strongest of the others."""
        if self.best is not None:
            return int(self.best.rival[i])
        return int(np.argmin(_square(self.pairs.gap_db, len(self.candidates), -1.0)[i]))

    def _row(
        self, i: int, df: float, verdict: str, by_pairs: AllPairs | None, settings: Settings, blocks: int
    ) -> dict[str, object]:
        """Write one candidate's row."""
        found = self.best
        unknown = float("nan")
        row: dict[str, object] = {
            **dict.fromkeys(GAP_COLUMNS, unknown), "candidate": self.candidates[i], "against": BEST_OF_OTHERS,
            "degrees_of_freedom": df, "interval_db": [unknown, unknown], "scope": self.scope, "verdict": verdict,
            "counts": True, "more_blocks": None,
        }  # fmt: skip
        if found is None or by_pairs is None:
            return row
        rival = self._rival(i)
        gap, error = float(found.gap[i]), float(found.standard_errors[i, rival])
        half = float(by_pairs.half_db[i, rival])
        half_at_end = half * settings.end_over_now(df)
        extra = more_blocks(gap, half_at_end, settings.matter_db, blocks, df) if verdict == CANNOT_TELL else None
        return row | {
            "gap_db": gap,
            "standard_error_db": error,
            "interval_db": [float(found.lower[i]), float(found.upper[i])],
            "p_value": float(2.0 * special.stdtr(df, -abs(gap) / error)),
            "p_adjusted": float(found.p_adjusted[i]),
            "resolution_db": half,
            "detectable_db": detectable_gap(error, df, half / error, settings.chance),
            "more_blocks": extra,
        }

    def _verdicts(self, settings: Settings, by_pairs: AllPairs | None) -> NDArray[np.str_]:
        """Give each candidate its verdict."""
        if self.best is None or by_pairs is None:
            return np.full(len(self.candidates), CANNOT_TELL)
        return classify_best(self.best.lower, self.best.upper, by_pairs.lower_db, by_pairs.upper_db, settings.matter_db)

    def _by_pairs(self, settings: Settings) -> AllPairs | None:
        """Return what the limits of all pairs say of each gap to the best of the others."""
        if self.best is None:
            return None
        limits = family_limits(self.pairs, settings.confidence, settings.chance)
        half = _square((limits.upper_db - limits.lower_db) / 2, len(self.candidates), 1.0)
        return AllPairs(*limits_by_all_pairs(limits.lower_db, limits.upper_db), half)


def compare_best(fitted: ScopedFit, confidence: float) -> BestComparison:
    """Hold each candidate against the best of the others.

    Parameters
    ----------
    fitted : ScopedFit
        The fit the comparison rests on.
    confidence : float
        Of all together.
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
