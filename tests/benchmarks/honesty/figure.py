"""The picture of the page: false alarms of antexp and of plain z, design by design."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.report.pictures import as_png
from antexp.report.style import BAND, INK, PATH, QUIET, house_style, new_axes

PLAIN = "#de8f05"


def picture(cells: pd.DataFrame) -> bytes:
    """Draw the records without any gap as PNG: one row a design, one mark a scatter."""
    equal = cells[cells["truth"] == "all equal"]
    names = list(dict.fromkeys(equal["design"]))
    with house_style():
        axes = new_axes(9.0, 1.6 + 0.34 * len(names))
        axes.axvspan(4, 6, color=BAND, zorder=0)
        axes.axvline(5, color=INK, linewidth=1.2)
        for series, marker, colour, label, filled, shift in series_of(equal):
            place = np.array([names.index(name) for name in series.index]) + shift
            axes.plot(100 * series, place, marker, color=colour, label=label, markersize=6,
                      markerfacecolor=colour if filled else "white")
        axes.set_yticks(range(len(names)), names)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.set_xlim(left=0)
        axes.grid(axis="y", color=QUIET, alpha=0.25)
        axes.set_xlabel("records without any gap in which something is called real, %")
        axes.figure.legend(loc="outside upper center", ncols=2, frameon=False)
        axes.annotate("5 % promised", (5, -0.6), xytext=(4, 3), textcoords="offset points", color=INK, fontsize=9,
                      annotation_clip=False)
    return as_png(axes)


def series_of(equal: pd.DataFrame):
    """Give the rates to draw: values by design, marker, colour, label, filled or hollow, shift of the row."""
    best = equal[equal["compare"] == "best"].set_index("design")
    yield equal.set_index("design")["alarm"], "o", PATH, "antexp, any gap", True, -0.12
    yield (best["some_best_lost"], "s", PATH, "not said: any of several equal best wires off the list", False, -0.12)
    yield equal.set_index("design")["z_any"], "D", PLAIN, "plain mixed model, ±1.96 errors, any gap", False, 0.12
