"""Pictures of how many repeats: chance and detectable gap against blocks, and which guess matters most."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from antexp.repeats.answer import Answer
from antexp.report.repeats_text import one_decimal, share
from antexp.report.style import INK, MATTER, PATH, QUIET, REPORT_WIDTH_IN, VERMILION, house_style, new_axes

_CAUTIOUS = VERMILION


def repeats_figure(answer: Answer) -> Figure:
    """Draw chance and detectable gap against blocks, side by side.

    Returns
    -------
    Figure
        Two axes with blocks below and swaps and hours above; the wanted chance, the gap that matters and the chosen day
        are marked, the cautious curves drawn beside the others. Without a gap that matters: the second alone.
    """
    rows = _judged(answer)
    with house_style():
        both = answer.matter_db is not None
        figure = Figure(figsize=(9.6 if both else 5.6, 4.6), layout="constrained")
        axes = figure.subplots(1, 2 if both else 1, squeeze=False)[0]
        if both:
            chance_axes(answer, rows, axes[0])
        gap_axes(answer, rows, axes[-1])
        for each in axes:
            _second_scale(each, rows)
            each.axvline(answer.blocks, color=QUIET, linewidth=1.0, linestyle=":", zorder=0.5)
            each.annotate("chosen", (answer.blocks, 1.0), xycoords=("data", "axes fraction"), xytext=(3, -11),
                          textcoords="offset points", fontsize=9, color=QUIET)
    return figure


def chance_axes(answer: Answer, rows: pd.DataFrame, axes: Axes) -> Axes:
    """Draw the chance of noticing the gap that matters."""
    axes.plot(rows["blocks"], rows["chance"], "o-", color=PATH, linewidth=2, markersize=5, label="at your guesses")
    axes.plot(rows["blocks"], rows["chance_cautious"], "s--", color=_CAUTIOUS, linewidth=1.6, markersize=4,
              label="spreads at their upper limits")
    rehearsed = rows.dropna(subset=["chance_rehearsed"])
    if not rehearsed.empty:
        axes.errorbar(rehearsed["blocks"], rehearsed["chance_rehearsed"], 3 * rehearsed["chance_rehearsed_se"],
                      fmt="D", color=INK, markerfacecolor="white", markersize=8, capsize=4, zorder=4,
                      label="rehearsed (±3 Monte Carlo errors)")
    axes.axhline(answer.wanted_chance, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)))
    axes.annotate(f"wanted: {share(answer.wanted_chance)}", (1, answer.wanted_chance),
                  xycoords=("axes fraction", "data"), xytext=(-4, -12), textcoords="offset points", ha="right",
                  fontsize=9, color=INK)
    axes.set_ylim(0, 1.03)
    axes.yaxis.set_major_formatter(lambda value, _: f"{100 * value:.0f} %")
    axes.set_xlabel("blocks")
    axes.set_ylabel(f"chance of noticing {one_decimal(answer.matter_db or 0)} dB")
    axes.legend(loc="lower right", fontsize=9, framealpha=0.9)
    return axes


def gap_axes(answer: Answer, rows: pd.DataFrame, axes: Axes) -> Axes:
    """Draw the gap that is noticed with the wanted chance."""
    axes.plot(rows["blocks"], rows["detectable_db"], "o-", color=PATH, linewidth=2, markersize=5,
              label="at your guesses")
    axes.plot(rows["blocks"], rows["detectable_cautious_db"], "s--", color=_CAUTIOUS, linewidth=1.6, markersize=4,
              label="spreads at their upper limits")
    if answer.matter_db is not None:
        axes.axhline(answer.matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)))
        axes.annotate("gap that matters", (1, answer.matter_db), xycoords=("axes fraction", "data"), xytext=(-4, 4),
                      textcoords="offset points", ha="right", fontsize=9, color=INK)
    top = float(np.nanquantile(rows["detectable_cautious_db"], 0.9)) if len(rows) else 1.0
    axes.set_ylim(0, 1.15 * max(top, answer.matter_db or 0.0, 0.1))
    axes.set_xlabel("blocks")
    axes.set_ylabel(f"gap in dB noticed with a chance of {share(answer.wanted_chance)}")
    axes.legend(loc="upper right", fontsize=9, framealpha=0.9)
    return axes


def chance_figure(answer: Answer, axes: Axes | None = None) -> Axes:
    """Draw the chance of noticing the gap that matters against blocks, in a picture of its own."""
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 4.2)
        return chance_axes(answer, _judged(answer), axes)


def detectable_figure(answer: Answer, axes: Axes | None = None) -> Axes:
    """Draw the gap that is noticed with the wanted chance against blocks, in a picture of its own."""
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 4.2)
        return gap_axes(answer, _judged(answer), axes)


def _judged(answer: Answer) -> pd.DataFrame:
    """Return the rows of the table whose blocks can be judged."""
    return answer.table[np.isfinite(answer.table["resolution_db"].astype(float))]


def guess_figure(answer: Answer, axes: Axes | None = None) -> Axes:
    """Draw which guess matters most: how far the detectable gap grows with each guess at its upper limit.

    Parameters
    ----------
    answer : Answer
    axes : Axes, optional
        Where to draw; left out: a fresh figure.

    Returns
    -------
    Axes
        One bar a guess, the one that matters most on top.
    """
    rows = answer.sensitivity.iloc[::-1].reset_index(drop=True)
    with house_style():
        axes = axes if axes is not None else new_axes(7.2, 1.5 + 0.5 * len(rows))
        base = answer.detectable_db
        for y, row in enumerate(rows.to_dict(orient="records")):
            axes.plot([base, row["detectable_db"]], [y, y], color=PATH, linewidth=7, solid_capstyle="butt")
            axes.annotate(f"{row['value']:g} → {row['upper']:.3g}", (max(row["detectable_db"], base), y),
                          xytext=(6, 0), textcoords="offset points", va="center", fontsize=9, color=INK)
        _named_line(axes, base, "as guessed", INK, "-", 1.0)
        if answer.matter_db is not None:
            # its name stands on the side away from the other line
            _named_line(axes, answer.matter_db, "gap that matters", MATTER, (0, (5, 3)), answer.matter_db - base)
        axes.set_yticks(range(len(rows)), [f"{row.meaning}\n{row.guess}" for row in rows.itertuples()])
        axes.set_ylim(-0.6, len(rows) - 0.4)
        reach = max([base, answer.matter_db or 0.0, *rows["detectable_db"]])
        axes.set_xlim(min(base, answer.matter_db or base) - 0.25 * reach, 1.22 * reach)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(f"gap in dB noticed with a chance of {share(answer.wanted_chance)}")
    return axes


def _named_line(axes: Axes, at: float, name: str, colour: str, style: str | tuple[int, tuple[int, int]],
                side: float) -> None:
    """Draw an upright line with its name at the foot, to the right where `side` is positive."""
    axes.axvline(at, color=colour, linewidth=1.3, linestyle=style)
    right = side >= 0
    axes.annotate(name, (at, 0), xycoords=("data", "axes fraction"), xytext=(4 if right else -4, 4),
                  textcoords="offset points", ha="left" if right else "right", fontsize=9, color=INK)


def _second_scale(axes: Axes, rows: pd.DataFrame) -> None:
    """Write swaps and hours of some blocks above the axes."""
    if rows.empty:
        return
    blocks, swaps, hours = (rows[name].to_numpy(float) for name in ("blocks", "swaps", "hours"))
    shown = np.unique(np.linspace(0, len(rows) - 1, min(5, len(rows))).round().astype(int))
    above = axes.secondary_xaxis("top")
    above.set_xticks(blocks[shown], [f"{swaps[i]:.0f}\n{hours[i]:.1f} h" for i in shown])
    above.set_xlabel("swaps, hours of swapping", fontsize=9)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True))
