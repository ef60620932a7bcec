"""Write a judgement's files into a folder: results, report and pictures, all or none."""

from __future__ import annotations

import os
from pathlib import Path

from antexp.analysis.result import Judgement
from antexp.files import write_folder
from antexp.report.gap_files import budgets_csv, gaps_csv
from antexp.report.page import report_page
from antexp.report.report_pictures import drawn, files_of, svg_by_name


def write_report(judgement: Judgement, folder: str | os.PathLike[str]) -> Path:
    """Write ``results.json``, ``report.html``, the gaps as ``gaps.csv`` and the figures as SVG and PNG.

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
    pictures = drawn(judgement)
    svg = svg_by_name(pictures)
    contents: dict[str, str | bytes] = {
        "results.json": judgement.to_json(),
        "report.html": report_page(judgement, svg),
        "gaps.csv": gaps_csv(judgement),
        **files_of(pictures, svg),
    }
    if judgement.budgets is not None:
        contents["gap-budget.csv"] = budgets_csv(judgement)
    write_folder(folder, contents)
    return Path(folder) / "report.html"
