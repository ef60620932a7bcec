"""The picture of the day: every reading in time order, the drift drawn through, the reference marked."""

from __future__ import annotations

import pandas as pd
from matplotlib.axes import Axes

from antexp.analysis.result import Judgement
from antexp.errors import Fault, JudgementError
from antexp.report.style import PATH, QUIET, REFERENCE, REPORT_WIDTH_IN, house_style, new_axes


def day_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw the record in the order it was made.

    Returns
    -------
    Axes
        Hours across (blocks one after the other), level in dB up.

    Raises
    ------
    JudgementError
        When the judgement comes from a results file, which does not hold the record.
    """
    day = judgement.day
    if day.swaps.empty:
        raise JudgementError(Fault("a results file does not hold the record, so its day cannot be drawn",
                                   judgement.title, do="Judge the readings again with antexp judge … -o DIR."))
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 4.0)
        axes.plot(day.readings["hours"], day.readings["level_db"], ".", color=QUIET, markersize=3.5, alpha=0.55,
                  label="single readings", zorder=1)
        is_reference = day.swaps["candidate"] == judgement.reference
        others = day.swaps[~is_reference]
        axes.plot(others["hours"], others["level_db"], "o", color=QUIET, markerfacecolor="white", markersize=6,
                  markeredgewidth=1.4, label="swaps of the candidates", zorder=2)
        for number, (_, inside) in enumerate(day.path.groupby("block", sort=False)):
            axes.plot(inside["hours"], inside["path_db"], color=PATH, linewidth=2.2, zorder=3,
                      label="level of the reference as fitted (drift)" if number == 0 else None)
        reference = day.swaps[is_reference]
        axes.plot(reference["hours"], reference["level_db"], "D", color=REFERENCE, markersize=7,
                  label="swaps of the reference", zorder=4)
        _name_blocks(axes, day.swaps)
        axes.set_xlabel("hours at work (breaks between blocks left out)")
        several = day.readings["receiver"].nunique() > 1
        axes.set_ylabel("level in dB" + (" (receivers on one level)" if several else ""))
        axes.figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return axes


def _name_blocks(axes: Axes, swaps: pd.DataFrame) -> None:
    """Write each block's name over its stretch, and part the blocks by a thin line."""
    stretches = swaps.groupby("block", sort=False)["hours"].agg(["min", "max"])
    many = len(stretches) > 8
    for i, (block, stretch) in enumerate(stretches.iterrows()):
        text = str(block) if many else f"block {block}"
        axes.annotate(text, ((stretch["min"] + stretch["max"]) / 2, 1.0), xycoords=("data", "axes fraction"),
                      xytext=(0, 4), textcoords="offset points", ha="center", va="bottom", fontsize=9, color=QUIET)
        if i > 0:
            before = stretches.iloc[i - 1]["max"]
            axes.axvline((before + stretch["min"]) / 2, color=QUIET, linewidth=0.8, linestyle=":", zorder=0)
