"""Every picture of a report, drawn once: for the page, and as files beside it."""

from __future__ import annotations

from collections.abc import Callable

from matplotlib.axes import Axes

from antexp.analysis.result import Judgement
from antexp.report.budget_figures import budget_figure, expected_measured_figure
from antexp.report.check_figures import check_figure
from antexp.report.day_figure import day_figure
from antexp.report.gap_figure import gap_figure
from antexp.report.pictures import as_png, settled_svg
from antexp.report.receivers_figure import receivers_figure
from antexp.report.spread_figure import spread_figure


def drawn(judgement: Judgement) -> dict[str, Axes]:
    """Return the pictures that a judgement has, by name.

    Returns
    -------
    dict of str to Axes
        ``gaps`` and ``spread`` always; ``day`` and ``check-…`` where the record is there, ``gap-budget`` and
        ``expected-measured`` where something is known of where gaps come from, ``receivers`` with several.
    """
    draw: dict[str, Callable[[Judgement], Axes]] = {"gaps": gap_figure}
    if not judgement.day.swaps.empty:
        draw["day"] = day_figure
    draw["spread"] = spread_figure
    if judgement.budgets is not None:
        draw |= {"gap-budget": budget_figure, "expected-measured": expected_measured_figure}
    if judgement.receivers is not None:
        draw["receivers"] = receivers_figure
    pictures = {name: figure(judgement) for name, figure in draw.items()}
    return pictures | {f"check-{check.name}": check_figure(check) for check in judgement.checks if len(check.data)}


def svg_by_name(pictures: dict[str, Axes]) -> dict[str, str]:
    """Return the pictures as SVG."""
    return {name: settled_svg(axes) for name, axes in pictures.items()}


def files_of(pictures: dict[str, Axes], svg: dict[str, str]) -> dict[str, str | bytes]:
    """Return the files of the pictures by name, SVG and PNG."""
    files: dict[str, str | bytes] = {f"{name}.svg": text for name, text in svg.items()}
    return files | {f"{name}.png": as_png(axes) for name, axes in pictures.items()}
