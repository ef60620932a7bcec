"""Many records one by one, for designs that have no common residual space."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.many_result import ManyFits, empty_fits
from antexp.mixed.reml import AtZero, fit_reml


def loop_over(
    records: Floats, X: Floats, groups: Mapping[str, ArrayLike], L: Floats, at_zero: AtZero, covariances: bool
) -> ManyFits:
    """Fit every column of `records` by itself; the arguments are those of `many_responses`."""
    result = empty_fits(records.shape[1], L.shape[0], tuple(groups), covariances)
    for i, y in enumerate(records.T):
        fit = fit_reml(y, X, groups, at_zero)
        found = fit.contrasts(L)
        result.estimates[i] = found.estimates
        result.standard_errors[i] = found.standard_errors
        bounded = fit_reml(y, X, groups, "keep") if fit.error_line_rule else fit
        result.plain_standard_errors[i] = bounded.contrasts(L, "satterthwaite").standard_errors
        result.degrees_of_freedom[i] = found.degrees_of_freedom
        result.residual_variance[i] = fit.residual_variance
        result.restricted_log_likelihood[i] = fit.restricted_log_likelihood
        result.error_line_rule[i] = fit.error_line_rule
        result.no_interval[i] = np.array([bool(reason) for reason in found.no_interval])
        for name, variance in fit.variances.items():
            result.variances[name][i] = variance
        if result.covariances is not None:
            result.covariances[i] = found.covariance
    return result
