"""The same model with heavier-tailed reading noise, which lets single wild readings count less."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.analysis.comparisons import Estimates
from antexp.analysis.result import Opinion
from antexp.analysis.second_opinions.asked import Asked, small
from antexp.decibels import bound_db
from antexp.mixed import fit_reml
from antexp.notices import named_gap

METHOD = "heavier-tailed reading noise"
# Student's t with 4 degrees of freedom: the usual choice where outliers are expected (Lange, Little & Taylor 1989,
# J. Am. Stat. Assoc. 84:881).
_TAIL = 4.0
_ROUNDS = 25
_MOST_SWAPS = 500

Floats = NDArray[np.float64]


def heavy_tails_opinion(asked: Asked) -> Opinion:
    """Refit with each reading weighted by how well it fits, and compare gaps and verdicts.

    Notes
    -----
    Reading noise as Student's t with 4 degrees of freedom by iterated weights w = (ν + 1)/(ν + r²/s²), r the residual
    about the swap's own level (Lange, Little & Taylor 1989). With one reading a swap the swaps themselves are weighted.
    """
    fitted = asked.these
    if set(fitted.record.groups) - {"swap"}:
        return Opinion(METHOD, None, "Not made: it is only fitted beside the swaps' own scatter.")
    codes = fitted.record.groups.get("swap")
    if codes is not None and codes.max() >= _MOST_SWAPS:
        return Opinion(METHOD, None, f"Not made for more than {_MOST_SWAPS} swaps.")
    model = fitted.record.model
    estimates, weight = _weighted(fitted.record.level_db, model.X, codes, model.gaps(asked.pairs))
    moved = estimates.gap_db - fitted.estimates(asked.pairs).gap_db
    worst = int(np.abs(moved).argmax())
    light = int((weight < 0.35).sum())
    numbers = {"largest_difference_db": float(np.abs(moved).max()), "readings_weighted_down": light}
    # two estimators of the same gap differ by chance too: a fifth of the half width is no disagreement
    if small(asked, float(np.abs(moved).max()) / 2.0):
        return Opinion(METHOD, True, f"The gaps move by at most {bound_db(np.abs(moved).max())}; {light} of "
                       f"{len(weight)} readings count much less than the others.", numbers)
    return Opinion(METHOD, False, f"{named_gap(*asked.pairs[worst])} moves by {moved[worst]:+.2f} dB when wild "
                   f"readings count less ({light} of {len(weight)} do). Look at those readings: if there is a reason "
                   "noted, leave them out with keep = 0; if not, the judgement stands: it was declared "
                   "beforehand.", numbers)


def _weighted(y: Floats, X: Floats, codes: NDArray[np.generic] | None, L: Floats) -> tuple[Estimates, Floats]:
    """Iterate weights and fits to the end."""
    weight = np.ones(len(y))
    own = np.eye(int(codes.max()) + 1)[codes] if codes is not None else None
    before = np.full(len(L), np.inf)
    for _ in range(_ROUNDS):
        root = np.sqrt(weight)
        groups = {"swap": own * root[:, None]} if own is not None else {}
        fit = fit_reml(y * root, X * root[:, None], groups, at_zero="keep")
        found = fit.contrasts(L)
        left = y - X @ fit.coefficients
        noise = max(fit.residual_variance, 1e-12)
        if own is not None:
            swap = fit.variances["swap"]
            left = left - own @ (swap * (own.T @ (weight * left)) / (noise + swap * (own.T @ weight)))
        weight = (_TAIL + 1.0) / (_TAIL + left**2 / noise)
        if np.abs(found.estimates - before).max() < 1e-5:
            break
        before = found.estimates
    return Estimates((), found.estimates, found.covariance, found.degrees_of_freedom), weight
