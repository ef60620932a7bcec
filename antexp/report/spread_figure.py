"""The picture of the spreads: what scattered how much, beside what the record can resolve and what matters."""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.patches import Patch

from antexp.analysis.result import Judgement
from antexp.report.style import INK, PATH, QUIET, REPORT_WIDTH_IN, house_style, new_axes, wrapped
from antexp.report.tables import spread_rows


def spread_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw the scatters and the sizes they are to be seen against.

    Returns
    -------
    Axes
        dB across; scatters as filled bars, yardsticks as open ones.
    """
    rows = spread_rows(judgement)
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 1.2 + 0.4 * len(rows))
        for y, (_, value, kind) in enumerate(reversed(rows)):
            filled = kind == "scatter"
            axes.barh(y, value, height=0.55, color=PATH if filled else "white", edgecolor=PATH if filled else QUIET,
                      linewidth=1.3, hatch=None if filled else "///")
            axes.annotate(f"{value:.2f} dB", (value, y), xytext=(5, 0), textcoords="offset points", va="center",
                          fontsize=9.5, color=INK)
        axes.set_yticks(range(len(rows)), [wrapped(name) for name, _, _ in reversed(rows)])
        axes.set_xlim(0, 1.3 * max([value for _, value, _ in rows], default=1.0))
        axes.grid(axis="y", visible=False)
        axes.set_xlabel("dB")
        axes.figure.legend(handles=[
            Patch(facecolor=PATH, edgecolor=PATH, label="seen in this record"),
            Patch(facecolor="white", edgecolor=QUIET, hatch="///", label="what to hold it against"),
        ], loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return axes
