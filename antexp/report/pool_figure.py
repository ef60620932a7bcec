"""All days side by side: every day's own gap with its limits, and what they say together."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from antexp.analysis.pool import Pooled
from antexp.report.numbers import decibels
from antexp.report.style import INK, MARKS, MATTER, QUIET, house_style, new_axes, wrapped

# More days than this a gap are drawn without names, from weakest to strongest and close together: a thousand named rows
# are a picture metres high that nobody can open.
MOST_NAMED_DAYS = 60
_CROWD_ROWS = 16.0
_HEAD_LETTERS = 62  # of a gap's name in a line; longer lines would squeeze the picture under them
_HEAD_ROWS = 0.8  # what a line of it takes of a row's height


def pool_figure(pooled: Pooled, axes: Axes | None = None) -> Axes:
    """Draw every gap as a group of rows: the days, and below them all together.

    Beyond `MOST_NAMED_DAYS` days the rows of a gap are unnamed, in order of size, and share a height that is fixed.

    Parameters
    ----------
    pooled : Pooled
    axes : Axes, optional
        Where to draw; left out: a fresh figure of a fitting size.

    Returns
    -------
    Axes
        Gaps in dB across.
    """
    groups = list(reversed(pooled.gaps.to_dict(orient="records")))
    height = sum(_rows_high(row["days"]) + 1.4 + _HEAD_ROWS * len(_head(row)) for row in groups)
    with house_style():
        axes = axes if axes is not None else new_axes(8.0, 1.5 + 0.27 * height)
        axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
        if pooled.matter_db is not None:
            for side in (-1, 1):
                axes.axvline(side * pooled.matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)
        ticks: list[tuple[float, str]] = []
        y = 0.0
        for row in groups:
            y = _draw_group(axes, pooled, row, y, ticks)
        axes.set_yticks([at for at, _ in ticks], [name for _, name in ticks])
        axes.autoscale_view()
        axes.set_ylim(-0.9, y - 0.4)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel("gap in dB (left: weaker, right: stronger)")
        _draw_key(axes, pooled)
    return axes


def _draw_group(
    axes: Axes, pooled: Pooled, row: dict[Hashable, Any], y: float, ticks: list[tuple[float, str]]
) -> float:
    """Draw one gap: together at the bottom, the days above it in the order given; return where the next one starts."""
    days = pooled.days
    mine = days[(days["candidate"] == row["candidate"]) & (days["against"] == row["against"])]
    mark = MARKS[str(row["verdict"])]
    low, high = row["interval_db"]
    axes.plot([low, high], [y, y], color=mark.colour, linewidth=3.0, solid_capstyle="butt", zorder=2)
    gap = float(row["gap_db"])
    axes.plot(gap, y, mark.marker, color=mark.colour, markerfacecolor=mark.colour if mark.filled else "white",
              markersize=9, markeredgewidth=1.8, zorder=3)
    axes.annotate(decibels(gap, signed=True), (gap, y), xytext=(0, 7), textcoords="offset points", ha="center",
                  fontsize=9, color=INK, zorder=4)
    ticks.append((y, "all days together"))
    draw = _draw_named if len(mine) <= MOST_NAMED_DAYS else _draw_crowd
    y = draw(axes, mine, y, ticks)
    head = _head(row)
    for upwards, line in enumerate(reversed(head)):
        axes.annotate(line, (0.0, y + 0.75 + _HEAD_ROWS * upwards), xycoords=("axes fraction", "data"), xytext=(4, 0),
                      textcoords="offset points", va="center", fontsize=9.5, color=INK, weight="bold", zorder=5,
                      bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0})
    return y + 1.4 + _HEAD_ROWS * len(head)


def _head(row: dict[Hashable, Any]) -> list[str]:
    """Name a gap over its rows, in lines short enough for the picture."""
    return wrapped(f"{row['candidate']} against {row['against']}", _HEAD_LETTERS).split("\n")


def _rows_high(days: int) -> float:
    """Return how many rows' height the days of one gap take."""
    return days if days <= MOST_NAMED_DAYS else _CROWD_ROWS


def _draw_named(axes: Axes, mine: pd.DataFrame, y: float, ticks: list[tuple[float, str]]) -> float:
    """Draw each day in a row of its own, with its name; return the last row."""
    for each in reversed(mine.to_dict(orient="records")):
        y += 1.0
        lower, upper = each["interval_db"]
        if np.isfinite(lower) and np.isfinite(upper):
            axes.plot([lower, upper], [y, y], color=QUIET, linewidth=1.5, solid_capstyle="butt", zorder=2)
        axes.plot(each["gap_db"], y, "o", color=QUIET, markerfacecolor="white", markersize=6, zorder=3)
        ticks.append((y, wrapped(str(each["day"]), 24)))
    return y


def _draw_crowd(axes: Axes, mine: pd.DataFrame, y: float, ticks: list[tuple[float, str]]) -> float:
    """Draw many days close together, weakest at the bottom; return the last row."""
    ordered = mine.sort_values("gap_db", kind="stable")
    at = np.linspace(y + 1.0, y + _CROWD_ROWS, len(ordered))
    limits = np.array(ordered["interval_db"].tolist(), dtype=float)
    axes.hlines(at, limits[:, 0], limits[:, 1], color=QUIET, linewidth=0.5, alpha=0.5, zorder=2)
    axes.plot(ordered["gap_db"], at, "o", color=QUIET, markersize=1.5, zorder=3)
    ticks.append((float(at.mean()), f"{len(ordered):,} days, weakest below"))
    return y + _CROWD_ROWS


def _draw_key(axes: Axes, pooled: Pooled) -> None:
    """Explain the marks that occur."""
    from matplotlib.lines import Line2D

    handles = [Line2D([], [], marker="o", color=QUIET, markerfacecolor="white", markersize=6, label="one day")]
    handles += [
        Line2D([], [], marker=mark.marker, color=mark.colour, linewidth=3, markersize=8,
               markerfacecolor=mark.colour if mark.filled else "white", label=f"together: {verdict}")
        for verdict, mark in MARKS.items() if verdict in set(pooled.gaps["verdict"])
    ]  # fmt: skip
    if pooled.matter_db is not None:
        handles.append(Line2D([], [], color=MATTER, linestyle=(0, (5, 3)), label="smallest gap that matters"))
    axes.figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9)
