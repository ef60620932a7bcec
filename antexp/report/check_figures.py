"""Pictures of the questions to the residuals: one picture a question."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from antexp.analysis.day import ROOM_HOURS
from antexp.analysis.result import Check
from antexp.report.style import (
    BAND,
    INK,
    MARKS,
    PATH,
    QUIET,
    REFERENCE,
    REPORT_WIDTH_IN,
    house_style,
    new_axes,
    row_pitch_in,
    wrapped,
)

_ODD = next(iter(MARKS.values())).colour
BY_WIRE = {"unequal-scatter": "candidate", "carry-over": "before"}
"""The questions whose picture has a row for each wire, and the column that names it."""


def check_figure(check: Check, axes: Axes | None = None) -> Axes:
    """Draw one question.

    Parameters
    ----------
    check : Check
        The question with its data.
    axes : Axes, optional
        Where to draw; left out: a fresh figure.

    Returns
    -------
    Axes
        Residuals of the swaps in dB.
    """
    pictures: dict[str, Callable[[Axes, pd.DataFrame], None]] = {
        "drift-form": _over_time,
        "unequal-scatter": _by_wire,
        "carry-over": _by_wire_before,
        "odd-swap": partial(_swap_by_swap, stands_out=check.worth_a_look),
    }
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, _height(check))
        pictures[check.name](axes, check.data)
        axes.set_title(check.question, loc="left", fontsize=11)
    return axes


def _height(check: Check) -> float:
    """Return a height that leaves every row of names its room."""
    column = BY_WIRE.get(check.name)
    if column is None:
        return 3.0
    labels = _row_labels(check.data, column)
    return 1.4 + row_pitch_in(labels, 0.42) * len(labels)


def _row_labels(data: pd.DataFrame, by: str) -> list[str]:
    """Return the wrapped names of the rows, from the bottom up."""
    return [wrapped(str(name)) for name in dict.fromkeys(data[by])][::-1]


def _over_time(axes: Axes, data: pd.DataFrame) -> None:
    """Draw residuals in time order, block after block, neighbours joined, the reference marked."""
    start = 0.0
    axes.axhline(0.0, color=INK, linewidth=1.0, zorder=1)
    for number, (block, inside) in enumerate(data.groupby("block", sort=False)):
        hours = start + (inside["minutes"] - inside["minutes"].min()).to_numpy() / 60.0
        axes.plot(hours, inside["residual_db"], "-", color=BAND, linewidth=1.6, zorder=2)
        for is_reference, marker, colour, face, label in (
            (False, "o", QUIET, "white", "swaps of the candidates"),
            (True, "D", REFERENCE, REFERENCE, "swaps of the reference"),
        ):
            mine = (inside["reference"] == is_reference).to_numpy()
            axes.plot(hours[mine], inside["residual_db"][mine], marker, color=colour, markerfacecolor=face,
                      markersize=6, zorder=3, label=label if number == 0 else None)
        axes.annotate(str(block), ((hours[0] + hours[-1]) / 2, 0.0), xycoords=("data", "axes fraction"),
                      xytext=(0, 4), textcoords="offset points", ha="center", fontsize=8.5, color=QUIET)
        if number:
            axes.axvline(start - ROOM_HOURS / 2, color=QUIET, linewidth=0.8, linestyle=":", zorder=0)
        start = float(hours[-1]) + ROOM_HOURS
    axes.margins(y=0.2)  # room for the blocks' names under the lowest swap
    axes.set_xlabel("hours at work (block by block)")
    axes.set_ylabel("left over, dB")
    axes.figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)


def _by_wire(axes: Axes, data: pd.DataFrame) -> None:
    """Draw residuals wire by wire, with a bar one scatter to each side."""
    _strips(axes, data, "candidate", bars="scatter")
    axes.set_xlabel("left over, dB (bar: scatter of that wire's hangings)")


def _by_wire_before(axes: Axes, data: pd.DataFrame) -> None:
    """Draw residuals by what hung before, with the mean as a bar."""
    _strips(axes, data, "before", bars="mean")
    axes.set_xlabel("left over, dB, after this wire (bar: mean)")


def _strips(axes: Axes, data: pd.DataFrame, by: str, bars: str) -> None:
    """Draw one row of points a wire."""
    names = list(dict.fromkeys(data[by]))[::-1]
    axes.axvline(0.0, color=INK, linewidth=1.0, zorder=1)
    for y, name in enumerate(names):
        values = data.loc[data[by] == name, "residual_db"].to_numpy(float)
        if bars == "scatter":
            half = float(np.sqrt(np.mean(values**2)))
            axes.barh(y, 2 * half, left=-half, height=0.5, color=BAND, edgecolor="none", zorder=0.5)
        else:
            axes.barh(y, float(values.mean()), height=0.5, color=BAND, edgecolor="none", zorder=0.5)
        axes.plot(values, np.full(values.size, y), "o", color=PATH, markerfacecolor="none", markersize=6, zorder=2)
    axes.set_yticks(range(len(names)), _row_labels(data, by))
    axes.set_ylim(-0.6, len(names) - 0.4)
    axes.grid(axis="y", visible=False)


def _swap_by_swap(axes: Axes, data: pd.DataFrame, stands_out: bool) -> None:
    """Draw each swap's distance from what the others say of it; the farthest is named, coloured where it stands out."""
    swap, value = data["swap"].to_numpy(), data["studentised"].to_numpy(float)
    worst = int(np.abs(value).argmax())
    colours = [_ODD if stands_out and i == worst else QUIET for i in range(len(value))]
    axes.axhline(0.0, color=INK, linewidth=1.0, zorder=1)
    axes.vlines(swap, 0.0, value, color=colours, linewidth=1.6, zorder=2)
    axes.scatter(swap, value, color=colours, s=22, zorder=3)
    axes.annotate(f"swap {int(swap[worst])}", (swap[worst], value[worst]), xytext=(6, 0), textcoords="offset points",
                  va="center", fontsize=9, color=INK)
    axes.set_xlabel("swap")
    axes.set_ylabel("distance in its own scatter")
