"""What may be said, in the terminal."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from antexp.analysis.result import Judgement
from antexp.plan.model import Plan
from antexp.report.paragraphs import methods, newsletter
from antexp.report.printed import print_answer, print_heading, print_indented, print_written
from antexp.report.statements import statements
from antexp.report.wording import answer


def print_said(judgement: Judgement, plan: Plan | None = None, written: tuple[Path, ...] = (),
               console: Console | None = None) -> None:
    """Print what may be said for people.

    Parameters
    ----------
    judgement : Judgement
    plan : Plan, optional
        Gives band and height their numbers.
    written : tuple of Path
        The files that were written.
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(answer(judgement), console)
    for each in statements(judgement, plan):
        console.print(Padding(Text(f"✓ {each.may}"), (1, 0, 0, 0)))
        print_indented(console, [f"✗ not: {each.may_not} ({each.why})"], style="italic")
    for head, text in (("For the newsletter", newsletter(judgement, plan)), ("Methods", methods(judgement, plan))):
        print_heading(console, head, "bold underline")
        console.print(Text(text.strip()))
    print_written(console, written)
