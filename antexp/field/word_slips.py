"""Check words: both ends say one with each swap, so that being one swap out of step is noticed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd


@dataclass(frozen=True)
class WordSlip:
    """A swap whose check word is not the order's.

    Attributes
    ----------
    line : int
        Of the first row with that word.
    swap : int
        The row's swap.
    word : str
        What was written down.
    expected : str
        What the order has for the swap.
    belongs_to : int or None
        The swap to which the order gives the written word; None when it is no word of the order.
    """

    line: int
    swap: int
    word: str
    expected: str
    belongs_to: int | None

    def __str__(self) -> str:
        """Return the slip as a sentence."""
        where = "which is no word of the order" if self.belongs_to is None else f"which is swap {self.belongs_to}'s"
        return f'Swap {self.swap} has the word "{self.word}", {where}; its own is "{self.expected}".'


def word_slips(table: pd.DataFrame, order: pd.DataFrame) -> tuple[WordSlip, ...]:
    """Compare the check words of a record with those of the order; capitals do not count.

    Parameters
    ----------
    table : DataFrame
        ``line``, ``swap`` and ``word``; a blank word is not compared.
    order : DataFrame
        The order's table.

    Returns
    -------
    tuple of WordSlip
        One for each swap and wrong word, in the order of the rows.
    """
    if "word" not in table or "word" not in order:
        return ()
    expected = {int(s): str(w).strip() for s, w in zip(order["swap"], order["word"], strict=True)}
    owner = {word.casefold(): swap for swap, word in expected.items()}
    said = table.loc[table["word"].astype(str).str.strip() != "", ["line", "swap", "word"]].drop_duplicates(
        ["swap", "word"])
    slips = []
    for line, swap, given in said.itertuples(index=False):
        word, own = str(given).strip(), expected.get(int(swap)) if np.isfinite(swap) else None
        if own is not None and word.casefold() != own.casefold():
            slips.append(WordSlip(int(line), int(swap), word, own, owner.get(word.casefold())))
    return tuple(slips)
