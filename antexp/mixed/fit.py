"""The fitted mixed model: what it found, how it got there, and the contrasts it can answer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.contrasts import METHODS, Contrast, ContrastSet, JointTest, Method, degrees_of_freedom, joint_test
from antexp.mixed.fixed_part import FixedPart
from antexp.mixed.kenward_roger import Inference
from antexp.mixed.search import History
from antexp.mixed.unidentified import check_rows


@dataclass(frozen=True)
class RemlFit:
    """A mixed model fitted by restricted maximum likelihood.

    Attributes
    ----------
    coefficients : ndarray, shape (p,), dB
        β̂; NaN for a column that is a sum of the others.
    variances : dict of str to float, dB²
        Variance of each random term, in the caller's order.
    residual_variance : float, dB²
        Reading noise σ²; NaN where it is one number with a random term (`one_number`).
    restricted_log_likelihood : float
        −½[(n−p)·log 2π + log|V| + log|XᵀV⁻¹X| − log|XᵀX| + rᵀV⁻¹r] at the bounded maximum; NaN where the
        reading noise is at rounding level and the likelihood has no maximum.
    covariance : ndarray, shape (p, p), dB²
        Covariance of the coefficients that inference uses: Φ_A (M5), or the error line's (M7).
    at_zero : tuple of str
        Random terms whose variance ended at zero.
    error_line_rule : bool
        True where M7 was applied: the first random term ended at zero and its own mean square judges the gaps.
    one_number : tuple of str
        A term with one reading per level and ``"reading"``: their scatter is one number, given as the term's
        variance. Empty otherwise.
    on_means : str
        The term whose level means were fitted because the readings within a level do not scatter; empty otherwise.
    no_interval : str
        Why no interval should be built for any contrast; empty where one may.
    information_condition : float
        Condition number of W⁻¹ (M4), scaled to unit diagonal.
    readings : int
        n.
    rank : int
        Independent fixed columns.
    levels : dict of str to int
        Levels of each random term.
    random_effects : dict of str to ndarray, shape (q,), dB
        Predicted effect of each level (in the order of the sorted codes) or loading, shrunk as the variances say;
        NaN for a term that is one number with the reading noise.
    history : History
        Start, end, evaluations and gradient of the search.
    """

    coefficients: Floats
    variances: dict[str, float]
    residual_variance: float
    restricted_log_likelihood: float
    covariance: Floats
    at_zero: tuple[str, ...]
    error_line_rule: bool
    one_number: tuple[str, ...]
    on_means: str
    no_interval: str
    information_condition: float
    readings: int
    rank: int
    levels: dict[str, int]
    random_effects: dict[str, Floats]
    history: History
    _fixed: FixedPart
    _beta: Floats
    _inference: Inference

    @property
    def aliased(self) -> tuple[int, ...]:
        """Fixed columns that are sums of the others."""
        return tuple(map(int, self._fixed.aliased))

    @property
    def variance_ratios(self) -> dict[str, float]:
        """Variance of each random term over the reading variance, a `start` for a similar record.

        A term that is one number with the reading noise has none.
        """
        return dict(zip(self.history.names, self.history.end, strict=True))

    def contrast(self, l: ArrayLike, method: Method = "kenward-roger") -> Contrast:  # noqa: E741
        """Estimate one contrast lᵀβ.

        Parameters
        ----------
        l : array_like, shape (p,)
        method : {"kenward-roger", "satterthwaite"}

        Raises
        ------
        ValueError
            A contrast that cannot be estimated, of another length, or an unknown method.

        Notes
        -----
        M5 and M6; Satterthwaite with Φ and the observed information.
        """
        several = self.contrasts(np.asarray(l, dtype=float)[None, :], method)
        return Contrast(
            float(several.estimates[0]),
            float(several.standard_errors[0]),
            float(several.degrees_of_freedom[0]),
            method,
            several.no_interval[0],
        )

    def contrasts(self, L: ArrayLike, method: Method = "kenward-roger") -> ContrastSet:
        """Estimate several contrasts with the covariance of their estimates.

        Parameters
        ----------
        L : array_like, shape (m, p)
        method : {"kenward-roger", "satterthwaite"}

        Raises
        ------
        ValueError
            A row that cannot be estimated, rows of another length, or an unknown method.
        """
        if method not in METHODS:
            raise ValueError(f"method is unknown: got {method!r}; allowed: {', '.join(METHODS)}")
        rows = self._rows(L)
        inference = self._inference
        satterthwaite = method == "satterthwaite"
        covariance = rows @ (inference.phi if satterthwaite else inference.adjusted) @ rows.T
        df = degrees_of_freedom(inference, rows, inference.observed_spread if satterthwaite else inference.spread)
        # As in Φ_A's own definition a variance is never negative; rounding is.
        errors = np.sqrt(np.maximum(np.diag(covariance), 0.0))
        estimates = rows @ self._beta
        return ContrastSet(estimates, covariance, errors, df, tuple(self._why_not(d) for d in df))

    def joint_test(self, L: ArrayLike) -> JointTest:
        """Test that every contrast is zero, by Kenward and Roger's scaled F.

        Parameters
        ----------
        L : array_like, shape (m, p)
            Rows may depend on each other; their rank is the numerator's df.

        Raises
        ------
        ValueError
            A row that cannot be estimated, or rows of another length.
        """
        rows = self._rows(L)
        return joint_test(self._inference, rows @ self._beta, rows)

    def inflation(self, L: ArrayLike, without: ArrayLike) -> Floats:
        """Tell how much fixed columns inflate the errors of contrasts.

        A design that passes the rank check can still be nearly aliased: then a drift that was fitted for fairness
        costs most of the precision.

        Parameters
        ----------
        L : array_like, shape (m, p)
            Contrasts that do not use the columns `without`.
        without : array_like of int
            Columns that are thought away, such as those of the drift.

        Returns
        -------
        ndarray, shape (m,)
            Standard error with the columns over that without them, at the same variances; at least 1.

        Raises
        ------
        ValueError
            A contrast that uses the columns, or cannot be estimated.
        """
        rows = self._rows(L)
        asked = np.asarray(L, dtype=float)
        away = np.unique(np.asarray(without, dtype=int))
        if asked[:, away].any():
            raise ValueError(f"contrasts use the columns that are to be thought away: {', '.join(map(str, away))}")
        with_columns = np.einsum("mi,ij,mj->m", rows, self._inference.phi, rows)
        kept = np.flatnonzero(~np.isin(self._fixed.kept, away))
        turn = np.linalg.inv(self._fixed.inverse)
        information = (turn.T @ np.linalg.solve(self._inference.phi, turn))[np.ix_(kept, kept)]
        fewer = asked[:, self._fixed.kept[kept]]
        return np.sqrt(with_columns / np.einsum("mi,im->m", fewer, np.linalg.solve(information, fewer.T)))

    def _rows(self, L: ArrayLike) -> Floats:
        """Check contrast rows and turn them onto the orthonormal columns."""
        rows = np.asarray(L, dtype=float)
        check_rows(rows, self._fixed)
        return self._fixed.to_orthonormal(rows)

    def _why_not(self, df: float) -> str:
        """Say why a contrast with these degrees of freedom gets no interval."""
        if self.no_interval:
            return self.no_interval
        if not df >= 1.0:
            return f"degrees of freedom are below 1 ({df:.2g})"
        return ""
