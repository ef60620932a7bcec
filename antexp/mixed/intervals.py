"""M1 fitted to readings that are ranges: a coarse meter, S units, or low and high ends (method section 9)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.cell_likelihood import CellLikelihood, cell_likelihood
from antexp.mixed.cell_search import Point, climb
from antexp.mixed.fixed_part import factor_columns

SMALLEST_READING_SCATTER = 0.02
"""Of the step; below it the likelihood is that of perfect rounding (method section 9)."""

SMALLEST_SWAP_SCATTER = 0.01
"""Of the step; below it the swap's share of the likelihood no longer changes."""

_FARTHEST = 30.0  # first guesses beyond the estimate at which the search for a limit gives up
_LIMIT_STEPS = 40
_CLOSE = 1e-4  # of the critical value: as good as that value itself is known


@dataclass(frozen=True)
class IntervalFit:
    """M1 by marginal maximum likelihood on ranges.

    Attributes
    ----------
    coefficients : ndarray, shape (p,), dB
        NaN for a column that is a sum of the others.
    swap_sd_db, reading_sd_db : float, dB
        Scatter of hangings and of readings; `at_floor` tells where they are only known to lie below.
    at_floor : tuple of str
        ``"swap"`` or ``"reading"`` where the scatter ended at its smallest allowed value.
    log_likelihood : float
        At the maximum.
    swaps : int
        N.
    step_db : float, dB
        Median width of the ranges.
    converged : bool
        Whether the search ended at a maximum.
    """

    coefficients: Floats
    swap_sd_db: float
    reading_sd_db: float
    at_floor: tuple[str, ...]
    log_likelihood: float
    swaps: int
    step_db: float
    converged: bool
    _likelihood: CellLikelihood
    _point: Point
    _kept: Floats
    _bounds: tuple[float, float]

    def gaps(self, L: ArrayLike) -> Floats:
        """Return the estimates of contrasts, shape (m,), dB."""
        return np.asarray(self._rows(L) @ self._point.beta)

    def covariance(self, L: ArrayLike, degrees_of_freedom: float) -> Floats:
        """Return the covariance of contrasts from the observed information, for N/ν times the ML variance.

        Parameters
        ----------
        L : array_like, shape (m, p)
        degrees_of_freedom : float
            ν of the ordinary analysis: the factor N/ν turns the ML variance into the usual one.

        Returns
        -------
        ndarray, shape (m, m), dB²
            Infinite on the diagonal where the likelihood is flat.
        """
        rows = self._rows(L)
        information = -self._point.value.hessian
        free = self._point.free
        values, vectors = np.linalg.eigh(information[np.ix_(free, free)])
        wide = np.zeros((len(rows), free.sum()))
        wide[:, : rows.shape[1]] = rows
        held = values > 1e-9 * values[-1]
        turned = wide @ vectors
        covariance = (turned[:, held] / values[held]) @ turned[:, held].T
        lost = np.abs(turned[:, ~held]).max(axis=1, initial=0.0) > 1e-6
        covariance[np.diag_indices_from(covariance)] += np.where(lost, np.inf, 0.0)
        return np.asarray(covariance * (self.swaps / degrees_of_freedom))

    def t_ratio(self, l: ArrayLike, gap_db: float, degrees_of_freedom: float) -> float:  # noqa: E741
        """Return t_LR = sign · √(ν(exp(LR/N) − 1)) of a contrast against a value of it."""
        profile = _Profile(self, np.asarray(l, float), degrees_of_freedom)
        return float(np.copysign(profile.ratio(gap_db)[0], profile.gap - gap_db))

    def limits(self, l: ArrayLike, critical: float, degrees_of_freedom: float) -> tuple[float, float]:  # noqa: E741
        """Return the values of a contrast at which |t_LR| reaches a critical value.

        Parameters
        ----------
        l : array_like, shape (p,)
        critical : float
            The family's critical value.
        degrees_of_freedom : float
            ν of the ordinary analysis.

        Returns
        -------
        lower, upper : float, dB
            Infinite where the likelihood never falls so far.

        Notes
        -----
        In the ordinary linear model N·log(1 + t²/ν) is the likelihood-ratio statistic, so that t_LR is t there. Plain
        χ² limits gave 14–22 % false alarms in a trial with 12 swaps.
        """
        profile = _Profile(self, np.asarray(l, float), degrees_of_freedom)
        return profile.limit(critical, -1.0), profile.limit(critical, 1.0)

    def _rows(self, L: ArrayLike) -> Floats:
        """Return contrast rows on the kept columns."""
        rows = np.atleast_2d(np.asarray(L, dtype=float))
        return rows[:, self._kept]


def fit_intervals(low: ArrayLike, high: ArrayLike, X: ArrayLike, swap: ArrayLike) -> IntervalFit:
    """Fit M1 to readings that are only known to lie in ranges.

    Parameters
    ----------
    low, high : array_like, shape (n,), dB
        Ends of each reading's range, low < high.
    X : array_like, shape (n, p)
        Fixed columns; sums of others are set aside.
    swap : array_like of int, shape (n,)
        Swap of each reading.

    Raises
    ------
    ValueError
        Ranges without width or out of order.
    """
    lower, upper, columns = (np.asarray(part, dtype=float) for part in (low, high, X))
    if not np.all(upper > lower):
        raise ValueError("a range has no width: got low ≥ high; allowed low < high in every reading")
    step = float(np.median(upper - lower))
    aliased = set(map(int, factor_columns(columns)[1].aliased))
    kept = np.array([i for i in range(columns.shape[1]) if i not in aliased], dtype=np.intp)
    middle = float(np.median(lower))
    likelihood = cell_likelihood(lower - middle, upper - middle, columns[:, kept], np.asarray(swap))
    start = _start(likelihood, step)
    bounds = (np.log(SMALLEST_SWAP_SCATTER * step), np.log(SMALLEST_READING_SCATTER * step))
    point = climb(likelihood, *start, bounds)
    coefficients = np.full(columns.shape[1], np.nan)
    # the level taken off goes back to the columns that carry a constant, in the shares that make it up
    constant = np.linalg.lstsq(columns[:, kept], np.full(len(columns), middle), rcond=None)[0]
    coefficients[kept] = point.beta + constant
    floor = tuple(
        name for name, value, bound in zip(("swap", "reading"), (point.log_tau, point.log_sigma), bounds, strict=True)
        if value <= bound + 1e-9
    )  # fmt: skip
    return IntervalFit(
        coefficients, float(np.exp(point.log_tau)), float(np.exp(point.log_sigma)), floor,
        point.value.log_likelihood, likelihood.swaps, step, point.converged, likelihood, point, kept, bounds,
    )  # fmt: skip


def _start(likelihood: CellLikelihood, step: float) -> tuple[Floats, float, float]:
    """Begin at least squares on the middles of the ranges."""
    there = likelihood.weight > 0
    y = (0.5 * (likelihood.low + likelihood.high))[there]
    X = likelihood.X[there]
    root = np.sqrt(likelihood.weight[there])
    beta = np.linalg.lstsq(X * root[:, None], y * root, rcond=None)[0]
    owner = np.nonzero(there)[0]
    weight = likelihood.weight[there]
    left = y - X @ beta
    count = np.bincount(owner, weight)
    means = np.bincount(owner, weight * left) / count
    inside = float((weight * (left - means[owner]) ** 2).sum()) / max(1.0, float((count - 1).sum()))
    sigma = max(np.sqrt(inside), 0.25 * step)
    tau = max(float(np.sqrt(np.mean(means**2))), 0.25 * step)
    return beta, float(np.log(tau)), float(np.log(sigma))


class _Profile:
    """The likelihood of a contrast, all else at its best; remembers the last point, from which the next is reached."""

    def __init__(self, fit: IntervalFit, row: Floats, degrees_of_freedom: float) -> None:
        self.fit = fit
        self.row = row[fit._kept]
        self.df = degrees_of_freedom
        self.gap = float(self.row @ fit._point.beta)
        self.here = fit._point

    def ratio(self, gap_db: float) -> tuple[float, float]:
        """Return |t_LR| at a value of the contrast, and its slope there (the multiplier of the held contrast)."""
        start = self.here.shifted(self.row, gap_db)
        self.here = climb(self.fit._likelihood, *start, self.fit._bounds, held=self.row)
        swaps = self.fit.swaps
        fallen = max(0.0, 2.0 * (self.fit.log_likelihood - self.here.value.log_likelihood))
        growth = min(fallen / swaps, 500.0)
        size = float(np.sqrt(self.df * np.expm1(growth)))
        multiplier = float(self.here.value.gradient[: self.row.size] @ self.row / (self.row @ self.row))
        slope = -self.df * np.exp(growth) / swaps * multiplier / size if size > 0 else 0.0
        return size, float(slope)

    def limit(self, critical: float, side: float) -> float:
        """Find where |t_LR| reaches the critical value on one side: Newton steps kept inside a bracket."""
        self.here = self.fit._point
        distance = self._first_guess(critical)
        farthest = _FARTHEST * max(distance, self.fit.step_db)
        inner, outer, missed = 0.0, np.inf, np.inf
        for _ in range(_LIMIT_STEPS):
            size, slope = self.ratio(self.gap + side * distance)
            before, missed = missed, abs(size - critical)
            if missed < _CLOSE * critical:
                return self.gap + side * distance
            inner, outer = (distance, outer) if size < critical else (inner, distance)
            if outer - inner < 1e-5 * outer:
                break
            if inner > farthest:
                return side * np.inf
            rise = side * slope
            step = distance + (critical - size) / rise if rise > 0 else np.inf
            # at a kink of the likelihood such steps may creep for ever: then the bracket is halved instead
            nearing = missed <= 0.5 * before or not np.isfinite(outer)
            if nearing and inner < step < min(outer, 3.0 * distance):
                distance = step
            else:
                distance = 0.5 * (inner + outer) if np.isfinite(outer) else 2.0 * distance
        return self.gap + side * outer

    def _first_guess(self, critical: float) -> float:
        """Guess the half width from the curvature at the estimate; a step where the likelihood is flat there."""
        row = np.zeros(len(self.fit.coefficients))
        row[self.fit._kept] = self.row
        variance = float(self.fit.covariance(row, self.df)[0, 0])
        guess = critical * np.sqrt(variance)
        # a curvature that says more than all readings span is that of a flat top
        there = self.fit._likelihood.weight > 0
        span = float(self.fit._likelihood.high[there].max() - self.fit._likelihood.low[there].min())
        return float(guess) if 0 < guess <= span else self.fit.step_db
