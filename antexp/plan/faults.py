"""From a refused value to the message the user reads: file, line, key, value, what is allowed, what to do."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError

from antexp.errors import Fault
from antexp.plan.model import Candidate, Coating, Field, Meter, Question, Radio
from antexp.plan.nearest import nearest
from antexp.plan.source import Source, show
from antexp.plan.toml_lines import KeyPath

TABLES: dict[str, type[BaseModel]] = {"question": Question, "radio": Radio, "meter": Meter, "field": Field}
TOP_KEYS = ("title", "reference", "candidates", "frequency_mhz", "hours", "matter_db", *TABLES)

Found = tuple[int, Fault]
"""A fault and the line it stands on, 0 where none is known."""


NOTHING = object()
"""Stands for no value in `at`, since a plan may hold any."""


def at(source: Source, path: KeyPath, what: str, got: Any = NOTHING, allowed: str = "", do: str = "") -> Found:
    """Return a fault at a path of the long form; ``got`` is shown as the plan would write it."""
    return source.line(path), Fault(what, source.where(path), "" if got is NOTHING else show(got), allowed, do)


def unknown_key(source: Source, path: KeyPath, allowed: tuple[str, ...]) -> Found:
    """Return the fault of a key that is not known where it stands, with the nearest or its right table offered."""
    key = str(path[-1])
    home = next((table for table, model in TABLES.items() if key in model.model_fields), None)
    near = nearest(key, allowed)
    if home and home not in path:
        do = f"It belongs in the table [{home}]."
    elif key in Candidate.model_fields and "candidates" not in path:
        do = "It belongs to a candidate."
    elif key in TOP_KEYS:
        do = "It belongs at the top of the plan, before the first table."
    else:
        do = f"Did you mean {near}?" if near else ""
    return source.line(path), Fault("unknown key", source.where(path), show(key), ", ".join(allowed), do)


def translate(error: ValidationError, prefix: KeyPath, source: Source) -> list[Found]:
    """Return the faults of one table or candidate.

    Parameters
    ----------
    error : pydantic.ValidationError
        What its model refused.
    prefix : tuple
        Where the table stands: ``("field",)``, ``("candidates", 2)``.
    source : Source
        The text.
    """
    found = []
    for item in error.errors(include_url=False):
        path = prefix + tuple(item["loc"])
        context: Mapping[str, str] = item.get("ctx", {})
        key = str(path[-1])
        if item["type"] == "at_fault":
            found.append(at(source, path, f"{key} {context['problem']}", item["input"], context["allowed"],
                            context["do"]))
        elif item["type"] == "extra_forbidden":
            found.append(unknown_key(source, path, tuple(_model(path).model_fields)))
        elif item["type"] == "missing":
            found.append(at(source, path, f"{key} is missing", do="Write it, it has no default."))
        else:  # a value where a table belongs
            found.append(at(source, path, f"{key} is not a table", item["input"],
                            f"a table with the keys {', '.join(_model((*path, '')).model_fields)}"))
    return found


def _model(path: KeyPath) -> type[BaseModel]:
    """Return the model of the table in which a path's last key stands."""
    if path[0] == "candidates":
        return Coating if len(path) > 3 else Candidate
    return TABLES[str(path[0])]
