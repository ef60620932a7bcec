"""The plan that would settle somebody's table of single hangings."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import Any

from antexp.errors import Fault, PlanError, RepeatsError
from antexp.plan.model import Plan
from antexp.plan.reader import plan_from_dict
from antexp.plan.words import MOST_BLOCKS
from antexp.repeats.planned_gaps import spreads_of
from antexp.repeats.single_hangings import TableAgainstChance
from antexp.repeats.what_if import Days, enough_blocks


@dataclass(frozen=True)
class SettlingPlan:
    """A plan for the wires of a table.

    Attributes
    ----------
    matter_db : float, dB
        The gap it is to notice: as asked, else the spread of the table itself.
    chance : float
        With which it notices.
    blocks, swaps : int or None
        None where even 200 blocks are not enough.
    hours : float or None
        Of swapping.
    toml : str
        The plan file.
    """

    matter_db: float
    chance: float
    blocks: int | None
    swaps: int | None
    hours: float | None
    toml: str

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as the JSON document holds it."""
        return asdict(self)


def settling_plan(found: TableAgainstChance, matter_db: float | None = None, chance: float = 0.80) -> SettlingPlan:
    """Plan a day on which the wires of a table are compared fairly.

    Parameters
    ----------
    found : TableAgainstChance
        The table, with its spreads.
    matter_db : float, optional, dB
        The gap to notice; left out: the spread of the whole table, what it claims.
    chance : float
        With which.

    Returns
    -------
    SettlingPlan
        The first wire of the table is the reference.

    Raises
    ------
    RepeatsError
        When the names of the table cannot stand in a plan, or the wires do not differ and nothing says what matters.
    """
    matter = found.spread_db if matter_db is None else matter_db
    if not matter > 0:
        raise RepeatsError(Fault("the wires of the table do not differ, and nothing says which gap matters",
                                 do="Say --matter DB."))
    scatter = found.scatter
    tables: dict[str, dict[str, Any]] = {
        "question": {"matter_db": round(matter, 2) or matter, "confidence": found.confidence, "chance": chance},
        "meter": {"reading_sd_db": scatter.reading_sd_db, **({"step_db": scatter.step_db} if scatter.step_db else {})},
        "field": {"rehang_sd_db": scatter.rehang_sd_db},
    }
    names = [str(name) for name in found.table["name"]]
    plan = _plan(names, tables)
    days = Days(plan)
    blocks = enough_blocks(days, spreads_of(plan))
    day = days.day(blocks) if blocks is not None else None
    if blocks is not None:
        tables["field"]["blocks"] = blocks
    return SettlingPlan(
        float(plan.question.matter_db or matter), chance, blocks, day.swaps if day else None,
        day.swaps * plan.field.minutes_per_swap / 60.0 if day else None, _toml(names, tables),
    )


def _plan(names: list[str], tables: dict[str, dict[str, Any]]) -> Plan:
    """Check the plan; its faults are faults of the table."""
    try:
        return plan_from_dict({"candidates": names, **tables})
    except PlanError as error:
        raise RepeatsError(error.faults) from None


def _toml(names: list[str], tables: dict[str, dict[str, Any]]) -> str:
    """Write the plan file."""
    quoted = ", ".join(json.dumps(name, ensure_ascii=False) for name in names)
    lines = [f"candidates = [{quoted}]   # the first is the reference"]
    for table, keys in tables.items():
        lines += ["", f"[{table}]", *(f"{key} = {value!r}" for key, value in keys.items())]
    if "blocks" not in tables["field"]:
        lines.append(f"# not even {MOST_BLOCKS} blocks notice this gap with the wanted chance")
    return "\n".join(lines) + "\n"
