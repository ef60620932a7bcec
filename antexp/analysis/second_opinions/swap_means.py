"""The analysis of variance of swap means: what a balanced record gives by classical arithmetic."""

from __future__ import annotations

import numpy as np

from antexp.analysis.record_model import swap_means
from antexp.analysis.result import Opinion
from antexp.analysis.second_opinions.asked import Asked, small
from antexp.decibels import bound_db
from antexp.design.random_terms import group_numbers

METHOD = "analysis of variance of the swaps' means"


def swap_means_opinion(asked: Asked) -> Opinion:
    """Fit the swaps' means by least squares and compare gaps and standard errors.

    Returns
    -------
    Opinion
        Not comparable where swaps have different numbers of readings: a mean of one and a mean of five are not alike.
    """
    fitted = asked.these
    rows, model = fitted.record.rows, fitted.record.model
    codes = group_numbers(rows, ["swap"])
    counts = np.bincount(codes)
    if (counts != counts[0]).any():
        return Opinion(METHOD, None, "Not comparable: the swaps have different numbers of readings.")
    if "walk" in fitted.record.groups or "swap_receiver" in fitted.record.groups:
        unknown = "it knows neither a wandering path nor receivers that come and go"
        return Opinion(METHOD, None, f"Not comparable: {unknown}.")
    X, y = swap_means(codes, model.X), swap_means(codes, fitted.record.level_db)
    beta, _, rank, _ = np.linalg.lstsq(X, y, rcond=1e-9)
    left = len(y) - int(rank)
    mean_square = float(((y - X @ beta) ** 2).sum()) / left
    L = model.gaps(asked.pairs)
    error = np.sqrt(mean_square * np.einsum("ij,jk,ik->i", L, np.linalg.pinv(X.T @ X, rcond=1e-9), L))
    ours = fitted.estimates(asked.pairs)
    difference = float(np.abs(L @ beta - ours.gap_db).max())
    with np.errstate(invalid="ignore", divide="ignore"):
        ratio = float(np.nanmax(np.abs(np.log(error / ours.standard_error_db))))
    numbers = {"largest_difference_db": difference, "largest_log_ratio_of_errors": ratio, "degrees_of_freedom": left}
    if small(asked, difference) and ratio < np.log(1.1):
        return Opinion(METHOD, True, f"The same gaps within {bound_db(difference)} and the same standard errors, with "
                       f"{left} degrees of freedom.", numbers)
    return Opinion(METHOD, False, f"Gaps differ by up to {bound_db(difference)}, standard errors by a factor of up to "
                   f"{np.exp(ratio):.2f}. Believe the judgement: it fits the drift at each reading's own time, which "
                   "swap means cannot.", numbers)
