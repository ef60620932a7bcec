"""A fit as three plain tables: one row a coefficient, one row for the fit, one row a reading.

A table is a dict of equally long columns, so that any table maker can take it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.fit import RemlFit
from antexp.mixed.terms import read_terms


def coefficient_table(fit: RemlFit, names: Sequence[str] | None = None) -> dict[str, list[object]]:
    """Return one row for each fixed column.

    Parameters
    ----------
    fit : RemlFit
    names : sequence of str, length p, or None
        Names of the columns; None: their positions.

    Returns
    -------
    dict
        ``column`` name; ``estimate_db``; ``standard_error_db`` and ``degrees_of_freedom`` as inference uses them
        (M5–M7); ``caution``: why a row has no estimate or should have no interval, else empty. NaN where a column
        alone cannot be estimated.
    """
    p = fit.coefficients.size
    table: dict[str, list[object]] = {
        "column": list(names) if names is not None else [str(i) for i in range(p)],
        "estimate_db": [],
        "standard_error_db": [],
        "degrees_of_freedom": [],
        "caution": [],
    }
    if len(table["column"]) != p:
        raise ValueError(f"names do not fit: got {len(table['column'])}; allowed {p}, one a column of X")
    for row in np.eye(p):
        try:
            found = fit.contrast(row)
        except ValueError:
            values: tuple[object, ...] = (np.nan, np.nan, np.nan, "cannot be estimated: aliased with other columns")
        else:
            values = (found.estimate, found.standard_error, found.degrees_of_freedom, found.no_interval)
        for name, value in zip(list(table)[1:], values, strict=True):
            table[name].append(value)
    return table


def fit_table(fit: RemlFit) -> dict[str, list[object]]:
    """Return one row for the whole fit.

    Returns
    -------
    dict
        ``readings``; ``fixed_columns`` (independent ones); ``restricted_log_likelihood``; ``reading_sd_db``;
        ``<term>_sd_db`` and ``<term>_levels`` of each random term; ``at_zero``: terms at zero, comma between;
        ``error_line_rule``; ``evaluations``; ``converged``; ``caution``: why no interval should be built, else empty.
    """
    table: dict[str, list[object]] = {
        "readings": [fit.readings],
        "fixed_columns": [fit.rank],
        "restricted_log_likelihood": [fit.restricted_log_likelihood],
        "reading_sd_db": [float(np.sqrt(fit.residual_variance))],
    }
    for name, variance in fit.variances.items():
        table[f"{name}_sd_db"] = [float(np.sqrt(variance))]
        table[f"{name}_levels"] = [fit.levels[name]]
    table["at_zero"] = [", ".join(fit.at_zero)]
    table["error_line_rule"] = [fit.error_line_rule]
    table["evaluations"] = [fit.history.evaluations]
    table["converged"] = [fit.history.converged]
    table["caution"] = [fit.no_interval]
    return table


def reading_table(fit: RemlFit, y: ArrayLike, X: ArrayLike, groups: Mapping[str, ArrayLike]) -> dict[str, Floats]:
    """Return one row for each reading; the record is that of the fit.

    Returns
    -------
    dict
        ``level_db``; ``fixed_db``: what the fixed part expects; ``random_db``: the predicted random effects together;
        ``residual_db``: what is left over. The last three add up to the first. `random_db` and `residual_db` are one
        number, in `residual_db`, where a term has one reading a level.
    """
    levels, columns = np.asarray(y, dtype=float), np.asarray(X, dtype=float)
    known = ~np.isnan(fit.coefficients)
    fixed = columns[:, known] @ fit.coefficients[known]
    random = np.zeros(levels.size)
    for term in read_terms(groups, levels.size):
        effects = fit.random_effects[term.name]
        if term.name in fit.one_number:
            continue
        random += effects[term.codes] if term.codes is not None else term.loadings @ effects
    return {"level_db": levels, "fixed_db": fixed, "random_db": random, "residual_db": levels - fixed - random}
