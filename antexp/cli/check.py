"""`antexp check`: a plan or a readings file, all faults and doubts in one pass."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from antexp.cli.options import Json, OrderOption, PlanOption
from antexp.cli.print_json import print_json


def command(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A plan (.toml) or readings (CSV).", show_default=False)],
    plan: PlanOption = None,
    order: OrderOption = None,
    json: Json = False,
) -> None:
    """Check a plan and its range, or a readings file."""
    if file.suffix.lower() == ".toml":
        _check_plan(file, json)
    else:
        _check_readings(file, plan, order, json)


def _check_plan(file: Path, json: bool) -> None:
    """Check a plan: what is assumed, whether the range can carry the question, where people can be hurt."""
    from antexp.plan.range_check import check_range
    from antexp.plan.reader import read_plan
    from antexp.repeats.planned_detectable import planned_detectable_db

    plan = read_plan(file)
    found = check_range(plan, planned_detectable_db(plan))
    if json:
        print_json(found.to_dict())
        return
    from antexp.report.check_text import print_range_check

    print_range_check(found)


def _check_readings(file: Path, plan: Path | None, order: Path | None, json: bool) -> None:
    """Check a readings file; faults are printed as faults always are, after the doubts."""
    from antexp.design.order_file import read_order
    from antexp.errors import ReadingsError
    from antexp.field.doubts import check_readings
    from antexp.plan.reader import read_plan

    found = check_readings(file, read_plan(plan) if plan else None, read_order(order) if order else None)
    if json:
        print_json(found.to_dict())
    else:
        from antexp.report.check_text import print_readings_check

        print_readings_check(found)
    if found.faults:
        raise ReadingsError(found.faults)
