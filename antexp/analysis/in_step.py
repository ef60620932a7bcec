"""Whether both ends were in step: a record whose check words slipped books levels to the wrong wire."""

from __future__ import annotations

import pandas as pd

from antexp.design.slips import first_slip
from antexp.errors import Fault, ReadingsError


def check_in_step(table: pd.DataFrame, order_table: pd.DataFrame, where: str) -> None:
    """Refuse a record whose check words are those of other swaps.

    Parameters
    ----------
    table : DataFrame
        The record's readings; without a column ``word`` there is nothing to compare.
    order_table : DataFrame
        The order's table with ``swap`` and ``word``.
    where : str
        The file, for the message.

    Raises
    ------
    ReadingsError
        Naming the first swap that slipped. A word that was only misheard or mistyped is no slip.
    """
    if "word" not in table or "word" not in order_table:
        return
    expected = dict(zip(order_table["swap"].astype(int), order_table["word"].astype(str), strict=True))
    said = table.drop_duplicates("swap").sort_values("swap")
    slip = first_slip(expected, list(zip(said["swap"].astype(int), said["word"].astype(str), strict=True)))
    if slip is None:
        return
    raise ReadingsError(
        Fault(
            f"the two ends were out of step, so levels stand beside the wrong wires from swap {slip.swap} on. {slip}",
            f"{where}, swap {slip.swap}",
            do="Settle with the paper of both ends which swap each reading belongs to, and correct the swap numbers; "
            "`antexp check` with --order lists every row.",
        )
    )
