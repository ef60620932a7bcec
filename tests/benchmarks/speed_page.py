"""Table, picture and page of `tests/benchmarks/speed.py`."""

from __future__ import annotations

import os
import platform
import re
import shutil
import subprocess
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

import numpy as np

from tests.benchmarks.mixed_kernel import spread
from tests.benchmarks.speed_growth import Curve

DOCS = Path(__file__).parents[2] / "docs"
PAGE = DOCS / "explanation" / "speed.md"
PICTURE = DOCS / "pictures" / "speed-growth.svg"
HAS_R = shutil.which("Rscript") is not None


@dataclass(frozen=True)
class Line:
    """One line of the table.

    Attributes
    ----------
    task, who : str
    seconds : ndarray
        Of the repeats.
    ours : ndarray
        Of antexp for the same task.
    """

    task: str
    who: str
    seconds: np.ndarray
    ours: np.ndarray

    @property
    def cells(self) -> tuple[str, str, str, str]:
        """Return what stands in the table."""
        ratio = "1" if self.seconds is self.ours else spread(self.seconds / np.median(self.ours))
        return self.task, self.who, _plain(spread(self.seconds)), _plain(ratio)


def _plain(text: str) -> str:
    """Write numbers as people do: 1.22e+03 as 1,220."""
    return re.sub(r"[0-9.]+e[+-][0-9]+", lambda found: f"{float(found[0]):,.6g}" if float(found[0]) > 1 else found[0],
                  text)


def table_of(lines: list[Line]) -> str:
    """Return the table; a task is named once."""
    rows, before = ["| what | by | time, s | times antexp |", "|---|---|---:|---:|"], ""
    for line in lines:
        task, *rest = line.cells
        rows.append("| " + " | ".join(["" if task == before else task, *rest]) + " |")
        before = task
    return "\n".join(rows) + "\n"


def growth_table(curves: list[Curve]) -> str:
    """Return the growth curves as a table."""
    rows = ["| what grows | beside it | by | size: time, ms | grows at the end as |", "|---|---|---|---|---|"]
    for curve in curves:
        points = ", ".join(f"{size:,}: {_plain(f'{1e3 * np.median(each):.3g}')}"
                           for size, each in zip(curve.size, curve.seconds, strict=True))
        rows.append(f"| {curve.what} | {curve.beside} | {curve.who} | {points} | size to the {curve.slope:.1f} |")
    return "\n".join(rows) + "\n"


def machine() -> str:
    """Say what it was measured on."""
    peers = ", ".join([f"Python {platform.python_version()}",
                       *(f"{name} {version(name)}" for name in ("numpy", "scipy", "statsmodels"))])
    if HAS_R:
        words = 'cat(R.version$major, ".", R.version$minor, ", lme4 ", as.character(packageVersion("lme4")), ' \
                '", pbkrtest ", as.character(packageVersion("pbkrtest")), sep = "")'
        told = subprocess.run(["Rscript", "-e", words], capture_output=True, text=True, check=False).stdout
        peers += f", R {told}"
    return f"{os.cpu_count()} cores shared with other work, {peers}"


def write_page(conditions: str, lines: list[Line], curves: list[Curve]) -> None:
    """Put conditions, table and growth into the page, between its marks, and draw the picture."""
    text = PAGE.read_text(encoding="utf-8")
    for name, content in (("conditions", conditions + "\n"), ("table", table_of(lines)),
                          ("growth", growth_table(curves))):
        text, count = re.subn(rf"(?<=<!-- measured: {name} -->\n).*?(?=<!-- end -->)",
                              lambda _, content=content: f"\n{content}\n", text, count=1, flags=re.DOTALL)
        assert count == 1, f"the page has no place for the {name}"
    PAGE.write_text(text, encoding="utf-8")
    draw(curves)


def draw(curves: list[Curve]) -> None:
    """Draw each thing that grows in a field of its own, both axes by powers of ten; bars from smallest to largest."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from matplotlib.ticker import FuncFormatter, NullFormatter

    from antexp.report.pictures import as_svg
    from antexp.report.style import PATH, QUIET, house_style

    look = {"antexp": {"color": PATH, "marker": "o"}, "statsmodels": {"color": QUIET, "marker": "s", "linestyle": "--"}}
    with house_style():
        figure = Figure(figsize=(8.2, 6.4), layout="constrained")
        FigureCanvasAgg(figure)
        fields = figure.subplots(2, 2, sharey=True)
        for axes, what in zip(fields.flat, dict.fromkeys(curve.what for curve in curves), strict=True):
            for curve in (curve for curve in curves if curve.what == what):
                middle = np.array([np.median(each) for each in curve.seconds])
                reach = np.array([[np.median(each) - each.min(), each.max() - np.median(each)]
                                  for each in curve.seconds]).T
                axes.errorbar(curve.size, 1e3 * middle, yerr=1e3 * reach, capsize=3, label=curve.who, markersize=6,
                              **look[curve.who])
            axes.set(xscale="log", yscale="log", xlabel=what, title=curve.beside)
            axes.set_xticks(next(curve.size for curve in curves if curve.what == what))
            axes.title.set_fontsize(9.5)
            axes.legend(frameon=False, loc="upper left")
            for axis in (axes.xaxis, axes.yaxis):  # plain numbers: formulas are off in the house style
                axis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,.10g}"))
                axis.set_minor_formatter(NullFormatter())
        fields[0, 0].set_ylim(1, 20_000)  # shared; room for the key
        for axes in fields[:, 0]:
            axes.set_ylabel("time, ms")
    PICTURE.write_text(as_svg(fields[0, 0]), encoding="utf-8")
