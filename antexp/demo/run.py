"""Run the demonstration: plan, order, readings, judgement, report, and the truth beside them."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from antexp.analysis.choice import Choice, choose
from antexp.analysis.judge import judge
from antexp.analysis.result import Judgement
from antexp.demo.scenario import (
    LATER_GUST_M_PER_S,
    LATER_PULL_N,
    LATER_SPAN_M,
    TRUE_GAPS_DB,
    day_readings,
    demo_plan_text,
    fixed_order_readings,
)
from antexp.design.order import make_order
from antexp.design.order_file import write_order
from antexp.design.replaceable import first_line
from antexp.errors import Fault, FileError
from antexp.files import write_folder, write_whole
from antexp.plan.reader import read_plan
from antexp.report.choice_page import write_choice
from antexp.report.write import write_report

_WORTH_KEEPING = ("plan.toml", "order.csv", "readings.csv", "results.json")


@dataclass(frozen=True, eq=False)
class Demonstration:
    """What the demonstration showed.

    Attributes
    ----------
    fixed_order : DataFrame
        One hanging each in a fixed order: ``candidate, level_db, gap_db, true_gap_db``.
    judgement : Judgement
        Of the fair day.
    truth : DataFrame
        ``candidate, true_gap_db, gap_db, low_db, high_db, verdict``: the judgement with the truth beside it.
    folder : Path
        Where the files are.
    report : Path
        The report's page.
    choice : Choice
        What to buy after that day.
    """

    fixed_order: pd.DataFrame
    judgement: Judgement
    truth: pd.DataFrame
    folder: Path
    report: Path
    choice: Choice


def run_demo(folder: str | os.PathLike[str]) -> Demonstration:
    """Make the demonstration's files in a folder.

    Parameters
    ----------
    folder : path-like
        Made when missing; files of an earlier demonstration are replaced.

    Raises
    ------
    FileError
        When the folder cannot be made or written to, or holds files of another comparison under the same names; then
        nothing in it was changed.

    Notes
    -----
    The day is played step by step in a passing folder of the system's, and its files are put in place all at once.
    """
    _refuse_others_files(Path(folder))
    with _passing_folder() as passing:
        shown = _play(passing)
        contents = {file.name: file.read_bytes() for file in sorted(passing.iterdir())}
    write_folder(folder, contents)
    return replace(shown, folder=Path(folder), report=Path(folder) / shown.report.name)


def _refuse_others_files(folder: Path) -> None:
    """Refuse a folder in which another comparison's files would be replaced; its plan tells whose they are."""
    there = [name for name in _WORTH_KEEPING if (folder / name).is_file()]
    if there and first_line(folder / "plan.toml") != demo_plan_text().splitlines()[0].strip():
        raise FileError(Fault("files of another comparison stand where the demonstration's would be written",
                              str(folder), ", ".join(there), do="Name a new or empty folder; nothing was changed."))


@contextlib.contextmanager
def _passing_folder() -> Iterator[Path]:
    """Give a folder that is gone afterwards."""
    try:
        passing = tempfile.TemporaryDirectory(prefix="antexp-demo-", ignore_cleanup_errors=True)
    except OSError as error:
        raise FileError(Fault("no passing folder can be made", error.filename or "", error.strerror or str(error),
                              do="Make room there, or name a folder with room in TMPDIR.")) from None
    with passing as name:
        yield Path(name)


def _play(place: Path) -> Demonstration:
    """Go through the flow from plan to choice, each step from the files of the one before."""
    write_whole(place / "plan.toml", demo_plan_text())
    plan = read_plan(place / "plan.toml")
    order = make_order(plan)
    write_order(order, place / "order.csv")
    readings = day_readings(plan, order)
    write_whole(place / "readings.csv", readings.to_csv(index=False, lineterminator="\n"))
    judgement = judge(place / "readings.csv", plan, place / "order.csv")
    report = write_report(judgement, place)
    truth = truth_beside(judgement)
    write_whole(place / "truth.csv", truth.to_csv(index=False, lineterminator="\n"))
    choice = choose(place / "readings.csv", plan, place / "order.csv", span_m=LATER_SPAN_M, tension_n=LATER_PULL_N,
                    gust_m_per_s=LATER_GUST_M_PER_S)
    write_choice(choice, place, plan)
    return Demonstration(fixed_order_readings(plan), judgement, truth, place, report, choice)


def truth_beside(judgement: Judgement) -> pd.DataFrame:
    """Put the truth beside the judgement, one row a gap."""
    rows = judgement.family
    limits = pd.DataFrame(rows["interval_db"].tolist(), columns=["low_db", "high_db"])
    return pd.DataFrame(
        {
            "candidate": rows["candidate"],
            "true_gap_db": rows["candidate"].map(TRUE_GAPS_DB),
            "gap_db": rows["gap_db"],
            "low_db": limits["low_db"],
            "high_db": limits["high_db"],
            "verdict": rows["verdict"],
        }
    )
