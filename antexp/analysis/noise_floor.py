"""What readings with the source off are good for: the noise under the signal, taken off where it shows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.decibels import db_to_power_ratio, power_ratio_to_db
from antexp.field.record import Record
from antexp.notices import Notice

# Noise adds less than a hundredth of a dB to a signal 26 dB above it.
_SHOWS_DB = 0.01
# Nearer than this to the noise, a small error in the noise is a large one in what is left.
_TOO_NEAR_DB = 3.0

Floats = NDArray[np.float64]


def without_noise(record: Record) -> tuple[Record, tuple[Notice, ...]]:
    """Take the noise's power off every level, where the record holds readings with the source off.

    Returns
    -------
    record : Record
        With levels, and ranges, as the signal alone would have made them; as it was where the noise hides more than
        26 dB below every reading, or comes within 3 dB of one.
    notices : tuple of Notice
        What was done.

    Notes
    -----
    A meter shows the power of signal and noise together, so that noise makes gaps look smaller: 10·log₁₀(10^(L/10) −
    10^(N/10)), N the mean power of the noise readings of that receiver in that block, else of that receiver.
    """
    noise = record.noise
    if not len(noise) or not noise["level_db"].notna().any():
        return record, ()
    table = record.table
    floor = _floor(table, noise)
    nearest = float((table["level_db"] - floor).min())
    if not np.isfinite(nearest):
        return record, ()
    if nearest < _TOO_NEAR_DB:
        text = (
            f"A reading comes within {nearest:.1f} dB of the noise (source off). That near, levels are mostly noise "
            "and gaps look smaller than they are; the noise was not taken off. More power, less bandwidth or a nearer "
            "receiver would help."
        )
        return record, (Notice("signal-in-noise", text),)
    largest = float(-power_ratio_to_db(1.0 - db_to_power_ratio(-nearest)))
    if largest < _SHOWS_DB:
        return record, ()
    cleared = table.copy()
    for name in ("level_db", "level_low_db", "level_high_db"):
        cleared[name] = _less(table[name].to_numpy(float), floor)
    text = (
        f"The readings with the source off show noise down to {nearest:.0f} dB below the signal. Its power was taken "
        f"off every level, {largest:.2f} dB at most: noise makes gaps look smaller than they are."
    )
    return replace(record, table=cleared), (Notice("noise-taken-off", text),)


def _floor(table: pd.DataFrame, noise: pd.DataFrame) -> Floats:
    """Return the noise under each reading, dB: of its block and receiver, else of its receiver; NaN where unknown."""
    power = noise.dropna(subset=["level_db"]).assign(power=lambda rows: db_to_power_ratio(rows["level_db"]))
    by_block = power.groupby(["block", "receiver"])["power"].mean()
    by_receiver = power.groupby("receiver")["power"].mean()
    found = [
        by_block.get((block, receiver), by_receiver.get(receiver, np.nan))
        for block, receiver in zip(table["block"], table["receiver"], strict=True)
    ]
    return np.asarray(power_ratio_to_db(np.array(found, dtype=float)))


def _less(level: Floats, floor: Floats) -> Floats:
    """Take the noise's power off levels; the low end of a range may reach down to where nothing is left."""
    known = np.isfinite(level) & np.isfinite(floor)
    share = np.where(known, db_to_power_ratio(np.where(known, floor - level, 0.0)), 0.0)
    left = np.maximum(1.0 - share, 1e-3)
    return np.where(known, level + power_ratio_to_db(left), level)
