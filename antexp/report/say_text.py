"""What may be said, in the terminal."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from antexp.analysis.result import Judgement
from antexp.plan.model import Plan
from antexp.report.paragraphs import methods, newsletter
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
    console = console or Console(highlight=False)
    console.print(Text(answer(judgement), style="bold"))
    for each in statements(judgement, plan):
        console.print(Padding(Text(f"✓ {each.may}"), (1, 0, 0, 0)))
        console.print(Padding(Text(f"✗ not: {each.may_not} ({each.why})", style="italic"), (0, 0, 0, 2)))
    for head, text in (("For the newsletter", newsletter(judgement, plan)), ("Methods", methods(judgement, plan))):
        console.print()
        console.print(Text(head, style="bold underline"))
        console.print(Text(text.strip()))
    for path in written:
        console.print(f"Wrote {path}", soft_wrap=True)
