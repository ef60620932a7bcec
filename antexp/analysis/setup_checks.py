"""What the readings of the set-up test say: passed, to be mended, or not clear yet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from scipy import stats

from antexp.design.setup_test import (
    ANTENNA,
    ATTENUATOR_DB,
    ATTENUATOR_IN,
    ATTENUATOR_OUT,
    COMMON_PRACTICE,
    HAND_DB,
    HAND_OFF,
    HAND_ON,
    LEAKAGE_DB,
    LOAD,
)

PASSED, MEND, UNCLEAR, NOT_DONE = "passed", "mend", "not clear", "not done"


@dataclass(frozen=True)
class SetupCheck:
    """One check of the set-up.

    Attributes
    ----------
    name : str
        ``"leakage"``, ``"meter"`` or ``"hand"``.
    status : str
        ``"passed"``, ``"mend"``, ``"not clear"`` (the readings scatter across the limit) or ``"not done"``.
    measured_db : float or None, dB
        What was seen: the fall into the dummy load, the fall by the attenuator, the change by the hand.
    limits_db : tuple of float, or None, dB
        Where the true value lies, at 95 %.
    wanted : str
        What is good enough, and where that comes from.
    do : str
        What to do now; blank when passed.
    """

    name: str
    status: str
    measured_db: float | None
    limits_db: tuple[float, float] | None
    wanted: str
    do: str

    def to_dict(self) -> dict[str, object]:
        """Return the check as the document holds it."""
        return {**self.__dict__, "limits_db": None if self.limits_db is None else list(self.limits_db)}


def setup_checks(table: pd.DataFrame, reading_sd_db: float, df: float, step_db: float | None) -> tuple[SetupCheck, ...]:
    """Judge the steps of the set-up test.

    Parameters
    ----------
    table : DataFrame
        Readings with ``step`` and ``level_db``, and ``attenuator_db`` where an attenuator was used.
    reading_sd_db : float, dB
        Scatter of readings.
    df : float
        Degrees of freedom of that scatter.
    step_db : float or None, dB
        Step of the meter.
    """
    return (
        _leakage(_fall(table, LOAD, ANTENNA, reading_sd_db, df)),
        _meter(_fall(table, ATTENUATOR_IN, ATTENUATOR_OUT, reading_sd_db, df), _marked(table), step_db),
        _hand(_fall(table, HAND_ON, HAND_OFF, reading_sd_db, df)),
    )


Fall = tuple[float, tuple[float, float]]


def _fall(table: pd.DataFrame, low: str, high: str, reading_sd_db: float, df: float) -> Fall | None:
    """Return how far the level fell in a step against the step that undoes it, with 95 % limits."""
    inside, outside = (table.loc[table["step"] == step, "level_db"].to_numpy(float) for step in (low, high))
    if not inside.size or not outside.size:
        return None
    fall = float(outside.mean() - inside.mean())
    half = float(stats.t.ppf(0.975, df) * reading_sd_db * np.sqrt(1 / inside.size + 1 / outside.size))
    return fall, (fall - half, fall + half)


def _marked(table: pd.DataFrame) -> float | None:
    """Return the attenuator's value; None where nobody wrote it down."""
    if "attenuator_db" not in table:
        return None
    values = pd.to_numeric(table.loc[table["step"] == ATTENUATOR_IN, "attenuator_db"], errors="coerce").dropna()
    return float(values.iloc[0]) if len(values) else None


def _leakage(fall: Fall | None) -> SetupCheck:
    """Judge the fall into the dummy load."""
    wanted = f"the level falls by {LEAKAGE_DB:g} dB or more with the source in a dummy load ({COMMON_PRACTICE})"
    if fall is None:
        return SetupCheck("leakage", NOT_DONE, None, None, wanted, "Read with the source in a dummy load.")
    value, (low, high) = fall
    status = PASSED if value >= LEAKAGE_DB else MEND if high < LEAKAGE_DB else UNCLEAR
    do = {MEND: "The source reaches the receiver past the antenna: shield it, choke its leads, move it away from the "
                "line.", UNCLEAR: "Read both steps a few times more."}.get(status, "")
    return SetupCheck("leakage", status, value, (low, high), wanted, do)


def _meter(fall: Fall | None, marked: float | None, step_db: float | None) -> SetupCheck:
    """Judge the meter against a known attenuator."""
    allowed = max(ATTENUATOR_DB, (step_db or 0.0) / 2)
    wanted = f"the meter falls by the attenuator's value within {allowed:g} dB ({COMMON_PRACTICE})"
    if fall is None or marked is None:
        do = "Read with a known attenuator in and out, and write its value into attenuator_db."
        return SetupCheck("meter", NOT_DONE, None if fall is None else fall[0], None if fall is None else fall[1],
                          wanted, do)
    value, (low, high) = fall
    status = _near(value - marked, low - marked, high - marked, allowed)
    do = {MEND: f"The meter shows {value:.2f} dB for {marked:g} dB, which is {value / marked:.2f} times as much. Give "
                "gaps in attenuator steps, or correct the levels before judging.",
          UNCLEAR: "Read both steps a few times more."}.get(status, "")
    return SetupCheck("meter", status, value, (low, high), wanted, do)


def _hand(fall: Fall | None) -> SetupCheck:
    """Judge the change by a hand on the feed line."""
    wanted = f"a hand on the feed line changes the level by {HAND_DB:g} dB or less ({COMMON_PRACTICE})"
    if fall is None:
        return SetupCheck("hand", NOT_DONE, None, None, wanted, "Read with a hand on the jacket of the feed line.")
    value, (low, high) = fall
    status = _near(value, low, high, HAND_DB)
    do = {MEND: "Current runs on the outside of the feed line: fit a common-mode choke at the feed point and lead the "
                "line away at right angles.", UNCLEAR: "Read both steps a few times more."}.get(status, "")
    return SetupCheck("hand", status, -value, (-high, -low), wanted, do)


def _near(value: float, low: float, high: float, allowed: float) -> str:
    """Return passed within the allowed distance of zero; beyond it, to be mended unless it may still be chance."""
    if abs(value) <= allowed:
        return PASSED
    return UNCLEAR if low <= 0.0 <= high else MEND
