"""From a record to the arrays of the model: y, X and the random terms (M1, M2)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.receiver_weights import receiver_weights
from antexp.design.random_terms import group_numbers, walk_loadings
from antexp.design.swap_model import SwapModel, swap_model


@dataclass(frozen=True)
class RecordModel:
    """A record as the kernel takes it.

    Attributes
    ----------
    rows : DataFrame, one row a response
        The record's readings; with several receivers that are all present in every swap, their mean a swap.
    level_db : ndarray, shape (n,), dB
        Responses.
    model : SwapModel
        Fixed columns.
    groups : dict of str to ndarray
        Random terms, the error line of the gaps first.
    averaged_receivers : int
        How many receivers were averaged; 1 when there is only one or when they are modelled one by one.
    weights : ndarray, shape (n,), or None
        Of the readings, where receivers are modelled one by one and their reading scatters are unlike.
    """

    rows: pd.DataFrame
    level_db: NDArray[np.float64]
    model: SwapModel
    groups: dict[str, NDArray[np.generic]]
    averaged_receivers: int = 1
    weights: NDArray[np.float64] | None = None


def record_model(
    table: pd.DataFrame,
    *,
    reference: str | None,
    drift: str,
    specimens_random: bool = False,
    average_receivers: bool = True,
) -> RecordModel:
    """Write a record as arrays.

    Parameters
    ----------
    table : DataFrame
        One row a used reading: ``swap, block, candidate, specimen, place, receiver, minutes, level_db``.
    reference : str or None
        The candidate listed first.
    drift : str
        Form of drift.
    specimens_random : bool
        False: scope ``these specimens``, every specimen has its own column. True: scope ``any specimen``, the
        specimen is the first random term and so the error line.
    average_receivers : bool
        Average over receivers swap by swap where every receiver is present in every swap.
    """
    rows, averaged = _over_receivers(table) if average_receivers else (table, 1)
    block = rows["block"].astype(str)
    several = averaged == 1 and rows["receiver"].nunique() > 1
    if several:
        # every receiver has its own level and its own drift in every block; the gaps are common to all
        block = block + " / " + rows["receiver"].astype(str)
    model = swap_model(
        rows["candidate"],
        block,
        rows["minutes"],
        reference=reference,
        drift=drift,
        swap=rows["swap"],
        specimen=rows["specimen"],
        place=rows["place"],
        specimens_fixed=not specimens_random,
    )
    groups = _groups(rows, drift, specimens_random, several)
    weights = receiver_weights(rows) if several else None
    return RecordModel(rows, rows["level_db"].to_numpy(float), model, groups, averaged, weights)


def _over_receivers(table: pd.DataFrame) -> tuple[pd.DataFrame, int]:
    """Average over receivers swap by swap where every receiver is present in every swap."""
    receivers = table["receiver"].nunique()
    present = table.groupby("swap")["receiver"].nunique()
    if receivers == 1 or (present < receivers).any():
        return table, 1
    keys = ["swap", "block", "candidate", "specimen", "place"]
    each = table.groupby([*keys, "receiver"], sort=False)[["minutes", "level_db"]].mean().reset_index()
    means = each.groupby(keys, sort=False)[["minutes", "level_db"]].mean().reset_index()
    return means.assign(receiver="mean of all"), receivers


def _groups(
    rows: pd.DataFrame, drift: str, specimens_random: bool, several_receivers: bool
) -> dict[str, NDArray[np.generic]]:
    """Return the random terms, the error line first."""
    groups: dict[str, NDArray[np.generic]] = {}
    if specimens_random:
        groups["specimen"] = group_numbers(rows, ["candidate", "specimen"])
    if rows.duplicated("swap").any():
        groups["swap"] = group_numbers(rows, ["swap"])
    if several_receivers and rows.duplicated(["swap", "receiver"]).any():
        groups["swap_receiver"] = group_numbers(rows, ["swap", "receiver"])
    if drift == "wandering":
        groups["walk"] = walk_loadings(rows)
    return groups


def swap_means(codes: NDArray[np.integer], values: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the means over the swaps, coded 0, 1, …, of one column, shape (n,), or of several, shape (n, p)."""
    counts = np.bincount(codes)
    if values.ndim == 1:
        return np.bincount(codes, values) / counts
    return np.column_stack([np.bincount(codes, column) / counts for column in values.T])
