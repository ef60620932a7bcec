"""A planned order as arrays: what hangs when, and at which hour of the day."""

from __future__ import annotations

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.order_document import Order
from antexp.design.order_file import as_order
from antexp.errors import Fault, RepeatsError

ORDER_COLUMNS = ("swap", "block", "minutes", "candidate", "specimen", "place")


@dataclass(frozen=True)
class Layout:
    """The swaps of a day, one entry a swap, in the order of the swap numbers.

    Attributes
    ----------
    swap : ndarray of int, shape (n,)
        Swap numbers.
    block, candidate, specimen, place : ndarray of str, shape (n,)
        Labels; a specimen's is within its candidate.
    minutes : ndarray, shape (n,), minutes
        Planned start within the block.
    hours : ndarray, shape (n,), hours
        Planned start since the first swap of the day, breaks counted.
    """

    swap: NDArray[np.int64]
    block: NDArray[np.object_]
    candidate: NDArray[np.object_]
    specimen: NDArray[np.object_]
    place: NDArray[np.object_]
    minutes: NDArray[np.float64]
    hours: NDArray[np.float64]

    def __len__(self) -> int:
        """Return the number of swaps."""
        return len(self.swap)

    def keep(self, kept: NDArray[np.bool_]) -> Layout:
        """Return the layout without the swaps that were not done."""
        return Layout(self.swap[kept], self.block[kept], self.candidate[kept], self.specimen[kept], self.place[kept],
                      self.minutes[kept], self.hours[kept])


def layout_of(order: str | os.PathLike[str] | Order | pd.DataFrame, minutes_per_swap: float,
              break_minutes: float = 15.0) -> Layout:
    """Read the layout off an order.

    Parameters
    ----------
    order : path, Order or DataFrame
        The order file, what `antexp.make_order` returns, or its table.
    minutes_per_swap : float, minutes
        How long the last swap of a block lasts.
    break_minutes : float, minutes
        From the end of a block to the start of the next one.

    Raises
    ------
    FileError, OrderError
        When the order's file is at fault.
    RepeatsError
        When columns of the order are missing or it has no swap.
    """
    table = order if isinstance(order, pd.DataFrame) else as_order(order).table
    missing = [name for name in ORDER_COLUMNS if name not in table.columns]
    if missing or table.empty:
        what = f"the order lacks the column(s) {', '.join(missing)}" if missing else "the order has no swap"
        raise RepeatsError(Fault(what, "order", allowed=", ".join(ORDER_COLUMNS),
                                 do="Make it with antexp.make_order(plan)."))
    table = table.sort_values("swap", kind="stable")
    labels = {name: table[name].astype(str).to_numpy(object) for name in ("block", "candidate", "specimen", "place")}
    minutes = table["minutes"].to_numpy(float)
    return Layout(table["swap"].to_numpy(np.int64), labels["block"], labels["candidate"], labels["specimen"],
                  labels["place"], minutes, _hours(labels["block"], minutes, minutes_per_swap, break_minutes))


def _hours(
    block: NDArray[np.object_], minutes: NDArray[np.float64], minutes_per_swap: float, break_minutes: float
) -> NDArray[np.float64]:
    """Put the blocks one after the other."""
    hours = np.empty(len(minutes))
    now = 0.0
    for label in dict.fromkeys(block):
        rows = block == label
        own = minutes[rows] - minutes[rows].min()
        hours[rows] = (now + own) / 60.0
        now += own.max() + minutes_per_swap + break_minutes
    return hours
