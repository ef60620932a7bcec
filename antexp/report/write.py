"""Write a judgement's files into a folder: results, report and pictures, all or none."""

from __future__ import annotations

import os
from pathlib import Path

from antexp.analysis.result import Judgement
from antexp.files import make_folder, write_all_whole
from antexp.report.budget_figures import budget_figure, expected_measured_figure
from antexp.report.day_figure import day_figure
from antexp.report.gap_figure import gap_figure
from antexp.report.page import report_page
from antexp.report.pictures import as_png, as_svg
from antexp.report.spread_figure import spread_figure


def write_report(judgement: Judgement, folder: str | os.PathLike[str]) -> Path:
    """Write ``results.json``, ``report.html`` and the figures as SVG and PNG.

    Parameters
    ----------
    judgement : Judgement
        The result.
    folder : path-like
        Made when missing.

    Returns
    -------
    Path
        The report.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    contents: dict[str, str | bytes] = {"results.json": judgement.to_json(), "report.html": report_page(judgement)}
    pictures = {"gaps": gap_figure, "day": day_figure, "spread": spread_figure}
    if judgement.budgets is not None:
        pictures |= {"gap-budget": budget_figure, "expected-measured": expected_measured_figure}
    for name, draw in pictures.items():
        axes = draw(judgement)
        contents[f"{name}.svg"] = as_svg(axes)
        contents[f"{name}.png"] = as_png(axes)
    target = make_folder(folder)
    write_all_whole({target / name: content for name, content in contents.items()})
    return target / "report.html"
