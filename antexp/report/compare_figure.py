"""The picture of two days: each wire's gap on both, and what changed."""

from __future__ import annotations

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from scipy import stats

from antexp.analysis.compare_days import AGREES, CHANGED, MOVED_LITTLE, OPEN, DayComparison
from antexp.report.numbers import decibels
from antexp.report.style import (
    DEEP_GREEN,
    INK,
    MATTER,
    OPEN_GREY,
    PATH,
    QUIET,
    VERMILION,
    house_style,
    new_axes,
    row_pitch_in,
    wrapped,
)

_WIRES_AT_MOST = 40
_COLOURS = {AGREES: DEEP_GREEN, MOVED_LITTLE: PATH, CHANGED: VERMILION, OPEN: OPEN_GREY}


def compare_figure(days: DayComparison, axes: Axes | None = None) -> Axes:
    """Draw the gaps of two days, one row a wire.

    Parameters
    ----------
    days : DayComparison
    axes : Axes, optional
        Where to draw; left out: a fresh figure of a fitting size.

    Returns
    -------
    Axes
        Gap in dB across; the earlier day above (open marks), the later day below it (filled), each with its own
        limits, and the change in words at the right.
    """
    rows = days.table.sort_values("later_db", kind="stable").tail(_WIRES_AT_MOST).reset_index(drop=True)
    with house_style():
        labels = [wrapped(name) for name in rows["candidate"]]
        axes = axes if axes is not None else new_axes(8.6, 1.9 + row_pitch_in(labels, 0.62) * len(rows))
        for y, (_, row) in enumerate(rows.iterrows()):
            for shift, day, marker in ((0.16, "earlier", "o"), (-0.16, "later", "D")):
                colour = QUIET if day == "earlier" else INK
                reach = stats.t.ppf((1 + days.confidence) / 2, row[f"{day}_df"])
                gap, half = row[f"{day}_db"], reach * row[f"{day}_se_db"]
                axes.plot([gap - half, gap + half], [y + shift] * 2, color=colour, linewidth=2, zorder=2,
                          solid_capstyle="butt")
                axes.plot(gap, y + shift, marker, color=colour, markersize=7, zorder=3, markeredgewidth=1.5,
                          markerfacecolor="white" if day == "earlier" else colour)
            axes.annotate(f"{decibels(row['change_db'], True)} dB\n{row['agreement']}", (1.01, y),
                          xycoords=("axes fraction", "data"), va="center", fontsize=8.5,
                          color=_COLOURS[row["agreement"]])
        axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
        axes.set_yticks(range(len(rows)), labels)
        axes.set_ylim(-0.6, len(rows) - 0.4)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(wrapped(f"gap to “{days.against}”, dB (left: weaker, right: stronger)", 64))
        _draw_key(axes, days)
    return axes


def _draw_key(axes: Axes, days: DayComparison) -> None:
    """Explain the two marks, and mark the gap that matters."""
    handles: list[Artist] = [
        Line2D([], [], color=QUIET, marker="o", markerfacecolor="white", linewidth=2,
               label=f"earlier: {days.titles[0]}"),
        Line2D([], [], color=INK, marker="D", linewidth=2, label=f"later: {days.titles[1]}"),
        Line2D([], [], linestyle="none", label=f"lines: each gap by itself at {100 * days.confidence:.3g} %"),
    ]
    if days.matter_db is not None:
        for side in (-1, 1):
            axes.axvline(side * days.matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)
        handles.append(Line2D([], [], color=MATTER, linestyle=(0, (5, 3)), label="smallest gap that matters"))
    axes.figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9)
