"""Doubts about the levels: odd readings, the meter's step, noise, the source, receivers."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.field.doubt import Doubt, whole
from antexp.field.level_log import MAD_TO_SD
from antexp.field.reading_faults import counted, listed, shown
from antexp.field.record import Record

NOISE_NEAR_DB = 10.0
# The noise, or the source, that moves more than a gap people look for deserves a word (reasoning of ours).
_MOVES_DB = 1.0
# A reading this many robust standard deviations from its swap is a slip or a burst: of a million normal readings
# fewer than one lies beyond 5.
_APART_SIGMAS = 5.0
_APART_AT_LEAST_DB = 1.0


def level_doubts(record: Record) -> tuple[Doubt, ...]:
    """Return the doubts about a record's levels.

    Parameters
    ----------
    record : Record
        The record.
    """
    return (*_apart(record), *_step(record), *_noise(record), *_source(record), *_receivers(record))


def mid_levels(table: pd.DataFrame) -> pd.Series:
    """Return the level of every row, dB; the middle of its range where it is only a range."""
    return table["level_db"].fillna((table["level_low_db"] + table["level_high_db"]) / 2)


def lift_db(margin_db: float) -> float:
    """Return by how much noise lifts a level that stands ``margin_db`` above it, both powers read together, dB.

    A level L read over noise N holds the signal S = L − N in powers: the lift is −10·log10(1 − 10^(−margin/10)), the
    bias of a power mean. Infinite when the level is no higher than the noise.
    """
    return float(-10 * np.log10(1 - 10 ** (-margin_db / 10))) if margin_db > 0 else float("inf")


def _apart(record: Record) -> list[Doubt]:
    """Doubt readings that stand far from the others of their swap."""
    table = record.table[record.table["level_db"].notna()]
    groups = table.groupby(["swap", "receiver"])["level_db"]
    off = table["level_db"] - groups.transform("median")
    several = groups.transform("size") >= 3
    scatter = MAD_TO_SD * float(off[several].abs().median()) if several.any() else 0.0
    limit = max(_APART_AT_LEAST_DB, _APART_SIGMAS * scatter)
    rows = table[several & (off.abs() > limit)]
    if not len(rows):
        return []
    text = f"Further than {limit:.2g} dB from the other readings of the swap: " + listed(
        f"line {line} (swap {swap}, {level:g} dB, {away:+.1f} dB)" for line, swap, level, away in
        zip(rows["line"], rows["swap"], rows["level_db"], off[rows.index], strict=True)) + "."
    return [Doubt("reading-apart", text, whole(rows["line"]), whole(rows["swap"]))]


def _step(record: Record) -> list[Doubt]:
    """Doubt a step that is coarser than the readings, and readings that are all equal."""
    level = record.table["level_db"].dropna()
    if len(level) > 1 and len(level) == len(record.table) and level.nunique() == 1:
        return [Doubt("all-levels-equal", f"All {len(level)} levels are {level.iloc[0]:g} dB.")]
    if record.step_db is None or record.level_form == "S units" or not len(level):
        return []
    typed = level + record.table.loc[level.index, "source_db"] if record.source_monitored else level
    steps = typed / record.step_db
    # A thousandth of a step: what adding and dividing decimal fractions loses is far below, a finer display far above.
    finer = np.abs(steps - steps.round()) > 1e-3
    if not finer.any():
        return []
    rows = record.table.loc[typed.index[finer]]
    text = (f"{int(finer.sum())} of {len(typed)} levels are no multiples of the step of {record.step_db:g} dB: "
            f"{listed(f'{value:g}' for value in typed[finer])}.")
    return [Doubt("finer-than-step", text, whole(rows["line"]))]


def _noise(record: Record) -> list[Doubt]:
    """Doubt levels within 10 dB of the noise, and noise that moves."""
    found = []
    for receiver, noise in record.noise.groupby("receiver"):
        floor = mid_levels(noise)
        table = record.table[record.table["receiver"] == receiver]
        if record.source_monitored:
            table = table.assign(level_db=table["level_db"] + table["source_db"],
                                 level_low_db=table["level_low_db"] + table["source_db"],
                                 level_high_db=table["level_high_db"] + table["source_db"])
        margin = mid_levels(table) - float(floor.median())
        near = table[margin < NOISE_NEAR_DB]
        if len(near):
            found.append(Doubt("noise-near", _noise_text(str(receiver), near, margin), whole(near["line"]),
                               whole(near["swap"])))
        if len(floor) > 1 and float(np.ptp(floor)) > _MOVES_DB and margin.min() < 2 * NOISE_NEAR_DB:
            text = f"The noise of receiver {shown(receiver)} lies between {floor.min():g} and {floor.max():g} dB."
            found.append(Doubt("noise-moves", text, whole(noise["line"]), whole(noise["swap"].dropna())))
    return found


def _noise_text(receiver: str, near: pd.DataFrame, margin: pd.Series) -> str:
    """Say how near the noise is and what it does to the weakest and the strongest level."""
    weakest, strongest = float(margin.min()), float(margin.max())
    lift = lift_db(weakest)
    does = ("there the level is noise alone" if np.isinf(lift) else
            f"noise lifts it by {lift:.2f} dB, the strongest by {lift_db(strongest):.2f} dB")
    return (f"{counted(len(near), 'reading')} of receiver {shown(receiver)} less than {NOISE_NEAR_DB:g} dB above the "
            f"noise (the weakest {weakest:.1f} dB: {does}).")


def _source(record: Record) -> list[Doubt]:
    """Doubt a source that moved."""
    if not record.source_monitored:
        return []
    table, found = record.table, []
    source = table["source_db"]
    if float(np.ptp(source)) > _MOVES_DB:
        text = f"The source's monitor lies between {source.min():g} and {source.max():g} dB."
        found.append(Doubt("source-moves", text))
    groups = table.groupby(["swap", "receiver"])["source_db"]
    inside = groups.max() - groups.min()
    swaps = whole(inside.index[inside > _MOVES_DB].get_level_values(0))
    if swaps:
        rows = table[table["swap"].isin(swaps)]
        found.append(Doubt("source-jumps-in-swap", f"The source's monitor moves by more than {_MOVES_DB:g} dB inside "
                           f"swap {listed(swaps)}.", whole(rows["line"]), swaps))
    return found


def _receivers(record: Record) -> list[Doubt]:
    """Doubt swaps that not all receivers read."""
    table = record.table
    every = table["receiver"].nunique()
    if every < 2:
        return []
    count = table.groupby("swap")["receiver"].nunique()
    short = whole(count.index[count < every])
    if not short:
        return []
    return [Doubt("receiver-missing", f"{len(short)} of {len(count)} swaps were not read by all {every} receivers: "
                  f"{listed(short)}.", (), short)]
