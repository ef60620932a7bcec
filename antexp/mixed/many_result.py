"""The answers for many records of one design."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats


@dataclass(frozen=True)
class ManyFits:
    """N records of one design, fitted and judged.

    Attributes
    ----------
    estimates : ndarray, shape (N, m), dB
    standard_errors : ndarray, shape (N, m), dB
        Kenward–Roger, or those of the error line (M7).
    plain_standard_errors : ndarray, shape (N, m), dB
        √(lᵀΦl) of the bounded fit, without any small-sample correction: what a plain mixed-model fit reports.
    degrees_of_freedom : ndarray, shape (N, m)
    variances : dict of str to ndarray, shape (N,), dB²
    residual_variance : ndarray, shape (N,), dB²
        NaN where it is one number with a random term.
    restricted_log_likelihood : ndarray, shape (N,)
        NaN where the readings within a level do not scatter.
    error_line_rule : ndarray of bool, shape (N,)
        Where M7 was applied.
    no_interval : ndarray of bool, shape (N, m)
        Where no interval should be built: no scatter, variances that cannot be told apart, or df below 1.
    covariances : ndarray, shape (N, m, m), dB², or None
        Covariance of the estimates, if asked.
    """

    estimates: Floats
    standard_errors: Floats
    plain_standard_errors: Floats
    degrees_of_freedom: Floats
    variances: dict[str, Floats]
    residual_variance: Floats
    restricted_log_likelihood: Floats
    error_line_rule: Floats
    no_interval: Floats
    covariances: Floats | None


def empty_fits(records: int, contrasts: int, names: tuple[str, ...], covariances: bool) -> ManyFits:
    """Make room for the answers of N records, all NaN."""

    def room(*shape: int) -> Floats:
        return np.full((records, *shape), np.nan)

    return ManyFits(
        room(contrasts),
        room(contrasts),
        room(contrasts),
        room(contrasts),
        {name: room() for name in names},
        room(),
        room(),
        np.zeros(records, dtype=bool),
        np.zeros((records, contrasts), dtype=bool),
        room(contrasts, contrasts) if covariances else None,
    )


def join_fits(parts: list[ManyFits]) -> ManyFits:
    """Put the answers of consecutive records one after the other."""

    def stack(name: str) -> Floats:
        return np.concatenate([getattr(part, name) for part in parts])

    return ManyFits(
        stack("estimates"),
        stack("standard_errors"),
        stack("plain_standard_errors"),
        stack("degrees_of_freedom"),
        {name: np.concatenate([part.variances[name] for part in parts]) for name in parts[0].variances},
        stack("residual_variance"),
        stack("restricted_log_likelihood"),
        stack("error_line_rule"),
        stack("no_interval"),
        None if parts[0].covariances is None else stack("covariances"),
    )
