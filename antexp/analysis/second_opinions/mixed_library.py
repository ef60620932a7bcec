"""The same model fitted by statsmodels, a general library."""

from __future__ import annotations

import warnings

import numpy as np

from antexp.analysis.result import Opinion
from antexp.analysis.second_opinions.asked import Asked, small
from antexp.decibels import bound_db

METHOD = "the same mixed model in statsmodels"
# Its dense algebra takes minutes beyond this.
_MOST_READINGS = 5000


def mixed_library_opinion(asked: Asked) -> Opinion:
    """Fit with statsmodels' MixedLM (method powell) and compare gaps and standard errors.

    Returns
    -------
    Opinion
        Standard errors are compared only where no component is at zero: it is bounded too, and what it reports there
        is not defined alike (method section 4).
    """
    fitted = asked.these
    groups = list(fitted.record.groups)
    if groups != ["swap"]:
        what = "it has no such terms beside the swaps" if groups else "one reading a swap leaves it no second scatter"
        return Opinion(METHOD, None, f"Not comparable: {what}.")
    if len(fitted.record.level_db) > _MOST_READINGS:
        return Opinion(METHOD, None, f"Not made: it takes minutes beyond {_MOST_READINGS} readings.")
    from statsmodels.regression.mixed_linear_model import MixedLM

    X, y = fitted.record.model.X, fitted.record.level_db
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # its remarks on convergence; the comparison decides
            fit = MixedLM(y - y.mean(), X, groups=fitted.record.groups["swap"]).fit(reml=True, method="powell")
            covariance = np.asarray(fit.cov_params())[: X.shape[1], : X.shape[1]]
    except (np.linalg.LinAlgError, ValueError) as error:
        return Opinion(METHOD, None, f"Not comparable: it stopped with {str(error)[:80]!r}.")
    L = fitted.record.model.gaps(asked.pairs)
    ours = fitted.estimates(asked.pairs)
    difference = float(np.abs(L @ np.asarray(fit.fe_params) - ours.gap_db).max())
    numbers = {"largest_difference_db": difference, "converged": bool(fit.converged)}
    text = f"Gaps agree within {bound_db(difference)}"
    if "swap" in fitted.fit.at_zero or float(fit.cov_re[0, 0]) < 1e-6 * float(fit.scale):
        text += "; standard errors are not comparable, for the re-hanging scatter came out at zero"
    else:
        theirs = np.sqrt(np.einsum("ij,jk,ik->i", L, covariance, L))
        ratio = float(np.max(ours.standard_error_db / theirs))
        numbers["largest_ratio_of_errors"] = ratio
        text += (f"; its standard errors, which do not allow for few swaps, are up to {100 * (ratio - 1):.0f} % smaller"
                 if ratio > 1.005 else "; so do the standard errors")
    if small(asked, difference):
        return Opinion(METHOD, True, f"{text}.", numbers)
    return Opinion(METHOD, False, f"Gaps differ by up to {bound_db(difference)}. Believe the judgement: its search "
                   "ends at the edge or the maximum by test, statsmodels' stops by step length.", numbers)
