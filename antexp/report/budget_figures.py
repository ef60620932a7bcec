"""Pictures of where the gaps come from: the stacked shares, and what was expected against what was measured."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from antexp.analysis.budget_result import GapBudgets
from antexp.analysis.result import Judgement
from antexp.report.budget_tables import gap_names, strongest_first
from antexp.report.radio_figures import gap_budget_figure
from antexp.report.style import (
    BAND,
    GAPS_AT_MOST,
    INK,
    MATTER,
    ORANGE,
    PATH,
    REPORT_WIDTH_IN,
    house_style,
    new_axes,
    wrapped,
)

_MATCHED = ORANGE


def budget_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw the gaps as used as stacks of their shares.

    Raises
    ------
    ValueError
        When nothing is known of where the gaps come from.
    """
    budgets = _budgets(judgement)
    shown = strongest_first(budgets)[:GAPS_AT_MOST]
    names, b = gap_names(budgets), budgets.budget
    shares = {name: (share[shown], u[shown]) for name, (share, u) in b.shares().items() if np.isfinite(share).any()}
    shown_names = tuple(names[i] for i in shown)
    axes = gap_budget_figure(shown_names, shares, b.measured_db[shown], b.measured_se_db[shown], axes)
    axes.set_xlabel("gap in dB as used (left: weaker, right: stronger)")
    return axes


def expected_measured_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw what physics expects of the metal beside the gaps as used and, where it is known, matched.

    Returns
    -------
    Axes
        Gap in dB across, one row a gap.

    Raises
    ------
    ValueError
        When nothing is known of where the gaps come from.
    """
    budgets = _budgets(judgement)
    shown = strongest_first(budgets)[:GAPS_AT_MOST]
    names = [wrapped(gap_names(budgets)[i]) for i in shown]
    lines = sum(name.count("\n") + 1 for name in names)
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 1.7 + 0.2 * lines + 0.22 * len(names))
        axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
        if judgement.matter_db is not None:
            for side in (-1, 1):
                axes.axvline(side * judgement.matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)
        for y, i in enumerate(shown):
            _draw_row(axes, y, i, budgets, _limits(judgement))
        axes.use_sticky_edges = False  # a bar for a wide range would else touch the frame as if it were cut off
        axes.margins(x=0.04)
        axes.set_yticks(range(len(names)), names)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel("gap in dB (left: weaker, right: stronger)")
        axes.figure.legend(handles=_key(budgets, judgement), loc="outside lower center", ncols=2, frameon=False,
                           fontsize=9)
    return axes


def _budgets(judgement: Judgement) -> GapBudgets:
    """Return the budgets, or say that there are none."""
    if judgement.budgets is None:
        raise ValueError("the judgement knows nothing of where its gaps come from: it needs swr or feed_ohm, or a plan "
                         "with materials")
    return judgement.budgets


def _limits(judgement: Judgement) -> dict[tuple[str, str], list[float]]:
    """Return the limits of the gaps as used by pair."""
    rows = judgement.family
    return dict(zip(zip(rows["candidate"], rows["against"], strict=True), rows["interval_db"], strict=True))


def _draw_row(axes: Axes, y: int, i: int, budgets: GapBudgets, limits: dict[tuple[str, str], list[float]]) -> None:
    """Draw one gap: a bar for what is expected, a mark each for as used and matched."""
    b, pair = budgets.budget, budgets.pairs[i]
    low, high = budgets.conductor_low_db[i], budgets.conductor_high_db[i]
    if np.isfinite(low) and np.isfinite(high):
        axes.barh(y, high - low, left=low, height=0.66, color=BAND, edgecolor="none", zorder=0.5)
        axes.plot([b.conductor_db[i]] * 2, [y - 0.33, y + 0.33], color=INK, linewidth=2, zorder=2)
    _draw_gap(axes, y - 0.13, b.measured_db[i], limits.get(pair), "D", PATH, PATH)
    row = budgets.matched[(budgets.matched["candidate"] == pair[0]) & (budgets.matched["against"] == pair[1])]
    if len(row):
        _draw_gap(axes, y + 0.17, float(row["gap_db"].iloc[0]), row["interval_db"].iloc[0], "o", _MATCHED, "white")


def _draw_gap(axes: Axes, y: float, gap_db: float, limits: list[float] | None, marker: str, colour: str,
              face: str) -> None:
    """Draw a mark with its limits."""
    if limits is not None and np.isfinite(limits).all():
        axes.plot(limits, [y, y], color=colour, linewidth=2, solid_capstyle="butt", zorder=3)
    axes.plot(gap_db, y, marker, color=colour, markerfacecolor=face, markeredgewidth=1.6, markersize=6.5, zorder=4)


def _key(budgets: GapBudgets, judgement: Judgement) -> list[Any]:
    """Explain what occurs in the picture."""
    handles: list[Any] = []
    if np.isfinite(budgets.conductor_low_db).any():
        handles += [Patch(color=BAND, label="expected of the metal: its range"),
                    Line2D([], [], color=INK, linewidth=2, label="expected of the metal: its value")]
    handles.append(Line2D([], [], color=PATH, marker="D", linewidth=2, label="measured, as used, with its limits"))
    if len(budgets.matched):
        handles.append(Line2D([], [], color=_MATCHED, marker="o", markerfacecolor="white", linewidth=2,
                              label="matched: mismatch taken out"))
    if judgement.matter_db is not None:
        handles.append(Line2D([], [], color=MATTER, linestyle=(0, (5, 3)), label="smallest gap that matters"))
    return handles
