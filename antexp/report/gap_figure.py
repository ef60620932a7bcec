"""The picture of the gaps: estimates, limits, what the record can resolve, and what matters."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.patheffects import withStroke

from antexp.analysis.result import Judgement
from antexp.report.numbers import decibels
from antexp.report.style import BAND, GAPS_AT_MOST, INK, MARKS, MATTER, REPORT_WIDTH_IN, house_style, new_axes, wrapped


def gap_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw every gap with its limits.

    Parameters
    ----------
    judgement : Judgement
        The result.
    axes : Axes, optional
        Where to draw; left out: a fresh figure of a fitting size.

    Returns
    -------
    Axes
        Gaps in dB across, one row a comparison, the strongest on top; of very many the largest.
    """
    rows = judgement.family
    if len(rows) > GAPS_AT_MOST:
        rows = rows.loc[rows["gap_db"].abs().nlargest(GAPS_AT_MOST).index]
    rows = rows.sort_values("gap_db", ascending=True).reset_index(drop=True)
    labels = [_label(row, judgement) for _, row in rows.iterrows()]
    lines = sum(label.count("\n") + 1 for label in labels)
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 1.5 + 0.2 * lines + 0.16 * len(rows))
        _draw_ground(axes, rows, judgement)
        for y, (_, row) in enumerate(rows.iterrows()):
            _draw_gap(axes, float(y), row)
        axes.set_yticks(range(len(rows)), labels)
        axes.set_ylim(-0.7, len(rows) - 0.12)  # room for the number above the topmost mark
        axes.grid(axis="y", visible=False)
        axes.set_xlabel("gap in dB (left: weaker, right: stronger)")
        _draw_key(axes, rows)
    return axes


def left_out_of_the_picture(judgement: Judgement) -> int:
    """Return how many gaps the picture leaves out because there are too many for one."""
    return max(0, len(judgement.family) - GAPS_AT_MOST)


def _label(row: pd.Series, judgement: Judgement) -> str:
    """Name a row: the candidate alone where all are compared with the same one."""
    if judgement.compare == "each-other":
        return wrapped(f"{row['candidate']} against {row['against']}", 28)
    return wrapped(str(row["candidate"]))


def _draw_ground(axes: Axes, rows: pd.DataFrame, judgement: Judgement) -> None:
    """Draw zero, the matter lines, and per row the part this record cannot resolve."""
    axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
    for y, half in enumerate(rows["resolution_db"].astype(float)):
        if np.isfinite(half):
            axes.barh(y, 2 * half, left=-half, height=0.62, color=BAND, edgecolor="none", zorder=0.5)
    if judgement.matter_db is not None:
        for side in (-1, 1):
            axes.axvline(side * judgement.matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)


def _draw_gap(axes: Axes, y: float, row: pd.Series) -> None:
    """Draw one gap: its limits as a line, its estimate as the verdict's mark, its value beside it."""
    mark = MARKS[row["verdict"]]
    lower, upper = row["interval_db"]
    if np.isfinite(lower) and np.isfinite(upper):
        axes.plot([lower, upper], [y, y], color=mark.colour, linewidth=2.2, solid_capstyle="butt", zorder=2)
    face = mark.colour if mark.filled else "white"
    axes.plot(row["gap_db"], y, mark.marker, color=mark.colour, markerfacecolor=face, markersize=8,
              markeredgewidth=1.8, zorder=3)
    axes.annotate(decibels(row["gap_db"], signed=True), (row["gap_db"], y), xytext=(0, 7),
                  textcoords="offset points", ha="center", fontsize=9, color=INK, zorder=4,
                  path_effects=[withStroke(linewidth=2.5, foreground="white")])  # it may stand on a line


def _draw_key(axes: Axes, rows: pd.DataFrame) -> None:
    """Explain the marks that occur, the grey bars and the dashed lines, below the picture."""
    present = [verdict for verdict in MARKS if verdict in set(rows["verdict"])]
    handles: list[Artist] = [
        Line2D([], [], marker=MARKS[verdict].marker, color=MARKS[verdict].colour, linewidth=2, markersize=7,
               markerfacecolor=MARKS[verdict].colour if MARKS[verdict].filled else "white", label=verdict)
        for verdict in present
    ]
    handles.append(Patch(color=BAND, label="too small for this record to resolve"))
    if axes.lines and any(line.get_linestyle() not in ("-", "None") for line in axes.lines):
        handles.append(Line2D([], [], color=MATTER, linestyle=(0, (5, 3)), label="smallest gap that matters"))
    axes.figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9)
