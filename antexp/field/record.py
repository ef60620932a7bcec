"""The record of a day in the field, checked and ready to be judged."""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd

from antexp.notices import Notice


@dataclass(frozen=True, eq=False)
class Record:
    """Readings that passed every check.

    Attributes
    ----------
    table : DataFrame, one row a used reading, in the order of the file
        ``line`` (of the file; of a DataFrame the row counted from 1), ``swap`` (int), ``block``, ``candidate``,
        ``specimen``, ``place``, ``receiver`` (text; "1" where not used), ``minutes`` (within the block), ``reading``
        (int, counted within swap and receiver), ``level_db`` (higher = stronger, ``source_db`` taken off; NaN for a
        reading that is only a range), ``level_low_db`` and ``level_high_db`` (where the level is known to lie: the
        range, or half a meter step to each side of ``level_db``; NaN when no step is known). Where given:
        ``swr``, ``feed_ohm`` (complex), ``height_m``, ``source_db``, ``handling`` (floats, NaN where blank), ``time``,
        ``note``, ``word``, ``correction``, ``handling_note`` (text), and the file's other columns untouched.
    left_out : DataFrame
        Rows with keep = 0 as they were given, with their ``line``.
    noise : DataFrame
        Rows with role "off" (source off): ``line``, ``swap``, ``block``, ``receiver``, ``minutes`` (NaN where not
        known), ``level_db``, ``level_low_db``, ``level_high_db``.
    notices : tuple of Notice
        Warnings of the reader.
    sha256 : str
        Of the file's bytes, or of a DataFrame's content.
    path : str or None
        The file; None for a DataFrame.
    step_db : float or None
        The meter's step, dB: as stated, 6 for S units; None when nobody stated one.
    scale : str or None
        The meter's scale as stated.
    level_form : str
        "level", "range", "level and range" or "S units".
    times_from : str
        "minutes", "time", "order" or "swap number".
    corrections : tuple of str
        One sentence for each swap whose wire differs from the order with a reason in ``correction``.
    passed_through : tuple of str
        The columns of ``table`` that antexp does not use.
    """

    table: pd.DataFrame
    left_out: pd.DataFrame
    noise: pd.DataFrame
    notices: tuple[Notice, ...]
    sha256: str
    path: str | None
    step_db: float | None
    scale: str | None
    level_form: str
    times_from: str
    corrections: tuple[str, ...]
    passed_through: tuple[str, ...]

    @property
    def source_monitored(self) -> bool:
        """Whether a monitor of the source was taken off the levels."""
        return "source_db" in self.table
