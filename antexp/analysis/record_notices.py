"""What the user must know about a record beside its numbers, as data."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.analysis.record_model import RecordModel
from antexp.analysis.scopes import ScopedFit
from antexp.analysis.settings import Settings
from antexp.design.estimable import tie_to_time
from antexp.design.specimen_scopes import specimen_counts
from antexp.notices import Notice, named_gap

# Half of a gap's precision lost to the drift columns: from there on the gap is as much about time as about the wire.
_TIED = 0.5


def specimen_notices(table: pd.DataFrame, any_fit: ScopedFit | None) -> list[Notice]:
    """Say what the number of specimens does not allow to say."""
    counts = specimen_counts(table)
    singles = [str(name) for name in counts.index[counts == 1]]
    if len(singles) == len(counts):
        text = (
            "Every candidate is one specimen. The gaps are about these very antennas; another one cut from the same "
            "reel may differ by its own trim, crimps and feed."
        )
        return [Notice("one-specimen-each", text)]
    if any_fit is None:
        text = (
            f"{int(counts.sum())} specimens of {len(counts)} candidates are too few to show how specimens of one "
            "candidate differ; the gaps are about these specimens."
        )
        return [Notice("few-specimens", text)]
    if singles:
        names = ", ".join(f"“{name}”" for name in singles)
        text = (
            f"There is a single specimen of {names}: gaps with it are about that specimen, whatever the number of "
            "hangings."
        )
        return [Notice("one-specimen-each", text)]
    return []


def reading_notices(table: pd.DataFrame) -> list[Notice]:
    """Say what one reading a swap does not allow to say."""
    if table.duplicated(["swap", "receiver"]).any():
        return []
    text = "Every swap has one reading, so the scatter of re-hanging and that of the meter are one number here."
    return [Notice("one-reading-per-swap", text)]


def zero_notices(fitted: ScopedFit) -> list[Notice]:
    """Say that the swap scatter came out at zero, and what the limits rest on."""
    if "swap" not in fitted.fit.at_zero:
        return []
    text = (
        "The swaps scatter no more than the meter's own noise would make them: no re-hanging scatter can be seen. The "
        "limits rest on the scatter between swaps, not on the number of readings."
    )
    return [Notice("swap-scatter-at-zero", text)]


def time_notices(record: RecordModel, pairs: list[tuple[str, str]]) -> list[Notice]:
    """Name the gaps that can hardly be told from the drift."""
    ties = tie_to_time(record.model, record.model.gaps(pairs))
    named = zip(pairs, ties, strict=True)
    tied = [f"{named_gap(*pair)} ({100 * tie:.0f} %)" for pair, tie in named if tie > _TIED]
    if not tied:
        return []
    text = (
        f"The order of the swaps ties these gaps to time, so that drift takes most of their precision: "
        f"{'; '.join(tied)}. The share lost to drift stands in brackets."
    )
    return [Notice("tied-to-time", text)]


def small_block_notices(record: RecordModel, drift: str) -> list[Notice]:
    """Name the blocks that are too small for the form of drift asked for."""
    less = [block for block, form in record.model.drift_forms.items() if form != drift]
    if not less:
        return []
    text = (
        f"Too few swaps for drift “{drift}” in block {', '.join(less)}: fewer than 4 swaps carry at most a straight "
        "line, 2 carry none."
    )
    return [Notice("small-block", text)]


def step_notices(table: pd.DataFrame, step_db: float | None) -> list[Notice]:
    """Warn when the meter's step is coarse beside the scatter it should show."""
    if not step_db:
        return []
    inside = table.groupby("swap")["level_db"]
    within = float(np.sqrt(inside.var(ddof=1).mean())) if table.duplicated("swap").any() else float("nan")
    if np.isfinite(within) and within >= step_db / 2:
        return []
    means = inside.mean()
    if float(means.std(ddof=1)) >= step_db and not np.isfinite(within):
        return []
    text = (
        f"The meter shows steps of {step_db:g} dB, coarse beside the scatter of its readings. Rounding then sticks to "
        "a whole swap and more readings do not average it away; the limits count it as part of the re-hanging scatter."
    )
    return [Notice("coarse-meter", text)]


def receiver_notices(table: pd.DataFrame, record: RecordModel) -> list[Notice]:
    """Say how several receivers were used."""
    receivers = table["receiver"].nunique()
    if receivers == 1:
        return []
    how = "averaged swap by swap" if record.averaged_receivers > 1 else "each given its own level and drift"
    text = f"{receivers} receivers took part and were {how}. More receivers are not more hangings."
    return [Notice("several-receivers", text)]


def interval_notices(gaps: pd.DataFrame) -> list[Notice]:
    """Name the gaps for which no limits can be given."""
    without = gaps[gaps["counts"] & ~np.isfinite(gaps["resolution_db"].astype(float))]
    if without.empty:
        return []
    names = ", ".join(named_gap(*pair) for pair in zip(without["candidate"], without["against"], strict=True))
    text = f"No trustworthy limits can be given for: {names}. The record holds too little to judge the scatter by."
    return [Notice("no-interval", text)]


def best_notices(settings: Settings) -> list[Notice]:
    """Say that "real" against the best rests on a second family of limits."""
    if settings.compare != "best":
        return []
    text = (
        "Against the best of the others, “real” is said by the limits of all pairs, a second set of limits that holds "
        f"at {100 * settings.confidence:g} % by itself: where several are equally good, one that leaves those that may "
        "be the best is not proven weaker by that."
    )
    return [Notice("second-family", text)]
