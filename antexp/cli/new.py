"""`antexp new`: write a commented plan, ready to edit."""

from __future__ import annotations

from antexp.cli.options import PlanArgument


def command(plan: PlanArgument) -> None:
    """Write a commented plan, ready to edit."""
    from antexp.plan.starter import write_starter

    write_starter(plan)
    print(f"Wrote {plan}. Edit it, then try:\n  antexp check {plan}\n  antexp order {plan} -o order.csv")
