"""The reference page of the plan's keys, made from the models that check a plan."""

from __future__ import annotations

import re
import types
from collections.abc import Iterable
from typing import Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, PlainValidator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from antexp.plan.candidate import Candidate, Coating
from antexp.plan.faults import TABLES
from antexp.plan.long_form import METER_MEANINGS
from antexp.plan.meter import SCALE_DEFAULTS
from antexp.plan.model import Heading, Plan
from antexp.plan.radio import COMMON_GROUND_LOSS_OHM
from antexp.report.docstring_fields import fields_of
from antexp.report.markdown import code, plain, table

_HEAD = """# Plan keys

Every key of a plan (TOML), made from the models that check it. Everything has a default but `candidates`;
`antexp check PLAN` reads back what is assumed. An unknown key, an impossible value or a wrong unit is refused with the
file, the line, the value and what is allowed, all faults at once. `candidates` may be plain names or `[[candidates]]`
tables, `meter` a word or a table; `frequency_mhz`, `hours` and `matter_db` may stand at the top or in their table, not
in both.
"""

_KINDS: dict[Any, str] = {str: "text", float: "number", int: "whole number", bool: "yes or no", complex: "impedance",
                          Coating: "table", tuple: "list"}
# A refusal names the unit of the decibels alone; the key's name says per what.
_RATES = {"_db_per_hour": "dB per hour", "_db_per_sqrt_hour": "dB per square root of an hour",
          "_db_per_m": "dB per metre"}
_TITLES = {"question": "What is asked", "radio": "Band, antenna and path", "meter": "What is read",
           "field": "The hours in the field, and how the level moves in them"}


def plan_page() -> str:
    """Return the page as Markdown."""
    parts = [_HEAD, f"## At the top\n\n{_top_table()}"]
    parts += [f"## [{name}]: {_TITLES[name]}\n\n{keys_table(model)}" for name, model in TABLES.items()]
    parts += [
        f"## [[candidates]]: what is compared\n\n{keys_table(Candidate)}",
        f"## coating: a layer on a wire\n\n{keys_table(Coating)}",
        f"## What follows a word\n\nCommon practice, no source.\n\n{_words_table()}\n"
        f"With `scale` stated in a table instead, what is left out follows it: {_scales()}. A quarter-wave vertical "
        f"hangs `vertical` and has `ground_loss_ohm` {COMMON_GROUND_LOSS_OHM:g} where they are left out.\n",
    ]
    return "\n".join(parts)


def keys_table(model: type[BaseModel]) -> str:
    """Return a model's keys as Markdown: meaning, what is allowed, unit, default, kind."""
    meanings = fields_of(model)
    rows = []
    for name, info in model.model_fields.items():
        allowed, unit = allowed_words(info)
        unit = next((words for end, words in _RATES.items() if name.endswith(end)), unit)
        meaning = re.sub(r"\bNone\b", "left out", meanings[name][1])
        rows.append((code(name), plain(meaning), allowed, unit, _default(info), kind_of(info)))
    return table(("key", "meaning", "allowed", "unit", "default", "kind"), rows)


def allowed_words(info: FieldInfo) -> tuple[str, str]:
    """Return what a key allows, in the very words in which a wrong value is refused, and its unit."""
    for check in info.metadata:
        if isinstance(check, PlainValidator):
            try:
                check.func(_Nothing())  # type: ignore[call-arg]
            except PydanticCustomError as refusal:
                allowed = str((refusal.context or {}).get("allowed", ""))
                found = re.fullmatch(r"(a number .+), in (.+)", allowed)
                return (found[1], found[2]) if found else (allowed, "")
    return "", ""


def kind_of(info: FieldInfo) -> str:
    """Return a key's kind in plain words."""
    annotation = info.annotation
    choices: Iterable[Any] = (annotation,)
    if get_origin(annotation) in (Union, types.UnionType):
        choices = (choice for choice in get_args(annotation) if choice is not type(None))
    first = next(iter(choices))
    if get_origin(first) is Literal:
        return "word"
    return _KINDS[get_origin(first) or first]


class _Nothing:
    """A value that no key allows."""


def _default(info: FieldInfo) -> str:
    """Return a default as a plan would write it."""
    if info.is_required():
        return "required"
    value = info.default
    if value is None or value == ():
        return "not stated"
    if isinstance(value, bool):
        return code(str(value).lower())
    return code(f'"{value}"' if isinstance(value, str) else f"{value:g}")


def _top_table() -> str:
    """Return the keys above the tables."""
    plan = fields_of(Plan)
    title = Heading.model_fields["title"]
    rows = [
        (code("candidates"), plain(plan["candidates"][1]), "names or tables, two or more", "required", "list"),
        (code("reference"), plain(plan["reference"][1]), "a candidate's name", "the first", "text"),
        (code("title"), plain(fields_of(Heading)["title"][1]), allowed_words(title)[0], _default(title), "text"),
        (code("frequency_mhz"), "As in `[radio]`.", "", "", "number"),
        (code("hours"), "As in `[field]`.", "", "", "number"),
        (code("matter_db"), "As in `[question]`.", "", "", "number"),
        (code("meter"), "A word stands for a whole table, see below.",
         ", ".join(f'"{word}"' for word in METER_MEANINGS), "", "word or table"),
    ]
    return table(("key", "meaning", "allowed", "default", "kind"), rows)


def _words_table() -> str:
    """Return what each meter's word stands for."""
    keys = list(next(iter(METER_MEANINGS.values())))
    rows = [(code(word), *(f"{meaning[key]:g}" if isinstance(meaning[key], float) else str(meaning[key])
                           for key in keys)) for word, meaning in METER_MEANINGS.items()]
    return table(("meter", *(code(key) for key in keys)), rows)


def _scales() -> str:
    """Return what follows a scale."""
    return "; ".join(f'`"{scale}"`: ' + ", ".join(f"`{key}` {value:g}" for key, value in values.items())
                     for scale, values in SCALE_DEFAULTS.items())
