"""`antexp new`: write a commented plan, ready to edit."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from antexp.cli.options import Json, PlanArgument, PlanOption
from antexp.cli.print_json import print_json


def command(
    plan: PlanArgument,
    source: Annotated[
        Optional[Path],
        typer.Option("--from", metavar="DIR", help="Folder that judge -o wrote to: its wires, trims, spreads and "
                     "lessons are carried over.", show_default=False),
    ] = None,
    old_plan: PlanOption = None,
    json: Json = False,
) -> None:
    """Write a commented plan, ready to edit."""
    written, carried = ([plan], ()) if source is None else _carry_over(plan, source, old_plan)
    if source is None:
        from antexp.plan.starter import write_starter

        write_starter(plan)
    if json:
        more = {} if source is None else {"files": [str(path) for path in written], "carried": list(carried)}
        print_json({"written": str(plan), **more})
        return
    for line in carried:
        print(f"Carried over: {line}")
    print(f"Wrote {' and '.join(map(str, written))}. Edit it, then try:\n  antexp check {plan}\n"
          f"  antexp order {plan} -o order.csv")


def _carry_over(plan: Path, source: Path, old_plan: Path | None) -> tuple[list[Path], tuple[str, ...]]:
    """Write the next plan, and the bench book beside it."""
    from antexp.analysis.next_plan import next_plan
    from antexp.files import write_all_whole
    from antexp.plan.starter import refuse_existing

    found = next_plan(source, plan=old_plan)
    contents: dict[Path, str | bytes] = {plan: found.text}
    if found.bench_book is not None:
        contents[plan.with_name(f"{plan.stem}.bench.csv")] = found.bench_book
    for path in contents:
        refuse_existing(path)
    write_all_whole({str(path): content for path, content in contents.items()})
    return list(contents), found.carried
