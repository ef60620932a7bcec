"""How precise the asked gaps will be if the day goes as planned."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import linalg

from antexp.design.demand import Demand
from antexp.design.estimable import aliased_columns, is_full_rank, tie_to_time, untied_sets
from antexp.design.information import walk_covariance
from antexp.design.planned_looks import end_confidence
from antexp.design.swap_model import SwapModel, swap_model
from antexp.errors import Fault, OrderError

_LEAST = 1e-9


@dataclass(frozen=True)
class GapPrecision:
    """What the order can tell about one gap, for the specimens that hang.

    Attributes
    ----------
    candidate, against : str
    standard_error_db : float, dB
        With the planned scatter of hangings and readings, and the planned wander.
    resolution_db : float, dB
        Half the width of the interval that holds for all asked gaps together.
    detectable_db : float, dB
        The true gap that is noticed with the planned chance.
    degrees_of_freedom : float
        Swaps less fixed terms.
    tied_to_time : float
        Share of the gap's precision that drift takes, 0 … 1.
    """

    candidate: str
    against: str
    standard_error_db: float
    resolution_db: float
    detectable_db: float
    degrees_of_freedom: float
    tied_to_time: float

    def to_dict(self) -> dict[str, str | float]:
        """Return the gap as the JSON document holds it."""
        return dict(self.__dict__)


def model_of(table: pd.DataFrame, demand: Demand, *, drift: str | None = None) -> SwapModel:
    """Write M1 for an order with every specimen fixed (scope ``these specimens``)."""
    return swap_model(table["candidate"], table["block"], table["minutes"], reference=demand.names[0],
                      drift=drift or demand.drift, specimen=table["specimen"], place=table["place"],
                      specimens_fixed=True)


def gap_precisions(table: pd.DataFrame, demand: Demand) -> tuple[GapPrecision, ...]:
    """Work out the precision of every asked gap.

    Parameters
    ----------
    table : DataFrame
        One row a swap, the order file's columns.
    demand : Demand

    Returns
    -------
    tuple of GapPrecision
        In the order of the demand's asked pairs.

    Raises
    ------
    OrderError
        When a gap cannot be estimated, or fewer than 4 swaps are left to judge the scatter by.
    """
    from antexp.mixed.chance import detectable_gap
    from antexp.mixed.multivariate_t import critical_value

    model = model_of(table, demand)
    pairs = [(demand.names[i], demand.names[j]) for i, j in demand.asked]
    left = check_estimable(model, table)
    rows = model.gaps(pairs)
    covariance = gap_covariance(model, rows, table, demand)
    errors = np.sqrt(np.diag(covariance))
    # a plan may state no scatter at all: the limits have no width then, but they are still a family
    shape = covariance if errors.all() else gap_covariance(model, rows, table, replace(demand, swap_sd_db=1.0))
    correlation = shape / np.sqrt(np.outer(np.diag(shape), np.diag(shape)))
    ties = tie_to_time(model, rows)
    confidence = end_confidence(demand.may_stop_after, int(table["block"].nunique()), demand.confidence)
    critical = critical_value(correlation, left, confidence)
    return tuple(
        GapPrecision(pair[0], pair[1], float(error), float(critical * error),
                     float(detectable_gap(float(error), left, critical, demand.chance)) if error > 0 else 0.0,
                     float(left), float(tie))
        for pair, error, tie in zip(pairs, errors, ties, strict=True)
    )


def check_estimable(model: SwapModel, table: pd.DataFrame) -> int:
    """Return the swaps left over to judge the scatter by; refuse an order that cannot be judged.

    Raises
    ------
    OrderError
    """
    untied = untied_sets(list(table["candidate"]), list(table["block"]))
    if untied:
        raise OrderError(Fault("two sets of candidates never share a block",
                               "plan, keys candidates.available_in_blocks",
                               f"{', '.join(untied.one)} | {', '.join(untied.other)}",
                               do="Let the reference, or one candidate of each set, hang in a block with the other."))
    if not is_full_rank(model):
        names = ", ".join(aliased_columns(model))
        raise OrderError(Fault("the order cannot tell everything apart", "plan, section field", names,
                               do="Use a simpler form of drift, fewer specimens or places, larger blocks, or more "
                                  "of them."))
    left = len(table) - model.X.shape[1]
    if left < 4:
        raise OrderError(
            Fault(
                "too few swaps are left to judge the scatter by",
                "plan, section field",
                f"{len(table)} swaps for {model.X.shape[1]} fixed terms leave {left}",
                "at least 4",
                _what_would_do(model, table, 4 - left),
            )
        )
    return left


def _what_would_do(model: SwapModel, table: pd.DataFrame, short: int) -> str:
    """Say how many more blocks of the same size would leave enough."""
    label = str(table["block"].iloc[-1])
    swaps = int((table["block"] == label).sum())
    terms = 1 + sum(name.startswith(f"drift: {label} ") for name in model.columns)
    more = f"{-(-short // (swaps - terms))} more block(s) of {swaps} swaps would do. " if swaps > terms else ""
    return f"{more}Or plan larger blocks, fewer candidates, or a simpler form of drift."


def gap_covariance(
    model: SwapModel, rows: NDArray[np.float64], table: pd.DataFrame, demand: Demand
) -> NDArray[np.float64]:
    """Return the covariance of gaps with the planned spreads, dB².

    Notes
    -----
    Under ``wandering`` the planned walk is in the weights; under the other forms the gaps are estimated as if there
    were none and the walk is added to their variance: lᵀA XᵀV X A l with A = (XᵀX)⁻¹.
    """
    variance = demand.swap_sd_db**2
    wander = demand.wander_db_per_sqrt_hour**2
    if wander == 0.0:
        triangle = linalg.qr(model.X, mode="r")[0][: model.X.shape[1]]
        solved = linalg.solve_triangular(triangle, rows.T, trans="T")
        return np.asarray(variance * solved.T @ solved)
    # a walk starts at nothing in every block: without any scatter of the swaps V could not be inverted
    V = max(variance, _LEAST * wander) * np.eye(len(table))
    for label in table["block"].unique():
        own = np.flatnonzero((table["block"] == label).to_numpy())
        V[np.ix_(own, own)] += wander * walk_covariance(table["minutes"].to_numpy(float)[own])
    if demand.drift == "wandering":
        return np.asarray(rows @ np.linalg.solve(model.X.T @ np.linalg.solve(V, model.X), rows.T))
    A = np.linalg.solve(model.X.T @ model.X, rows.T)
    return np.asarray(A.T @ (model.X.T @ V @ model.X) @ A)


def precision_kept(table: pd.DataFrame, demand: Demand) -> float:
    """Return the share of the asked gaps' precision that drift leaves: the bound is the same order without drift."""
    pairs = [(demand.names[i], demand.names[j]) for i, j in demand.asked]
    with_drift, without = (
        float(np.trace(rows @ np.linalg.solve(model.X.T @ model.X, rows.T)))
        for model in (model_of(table, demand), model_of(table, demand, drift="none"))
        for rows in [model.gaps(pairs)]
    )
    return min(1.0, without / with_drift)
