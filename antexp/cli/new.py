"""`antexp new`: write a commented plan, ready to edit."""

from __future__ import annotations

import json as json_format

import typer

from antexp.cli.options import Json, PlanArgument


def command(plan: PlanArgument, json: Json = False) -> None:
    """Write a commented plan, ready to edit."""
    from antexp.plan.starter import write_starter

    write_starter(plan)
    if json:
        typer.echo(json_format.dumps({"written": str(plan)}))
        return
    print(f"Wrote {plan}. Edit it, then try:\n  antexp check {plan}\n  antexp order {plan} -o order.csv")
