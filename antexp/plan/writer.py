"""A plan as the text of a plan file: the keys that were given, with remarks beside them."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from textwrap import wrap
from typing import Any

from pydantic import BaseModel

from antexp.plan.candidate import Candidate
from antexp.plan.faults import TABLES
from antexp.plan.model import Plan
from antexp.plan.sittings import Sitting

_WIDEST_REMARK = 110


def plan_text(plan: Plan, *, head: Sequence[str] = (), remarks: Mapping[str, str] | None = None,
              candidate_remarks: Mapping[str, Sequence[str]] | None = None) -> str:
    r"""Write a plan as TOML in the long form.

    Parameters
    ----------
    plan : Plan
        Keys that its user gave are written, those that antexp assumed are left out, so that reading the text assumes
        them again.
    head : sequence of str
        Remarks above the first key, each on lines of its own.
    remarks : mapping of str to str, optional
        Remarks by key in the long form: ``"field.rehang_sd_db"``; one for a key that is not written stands in its
        table as a line by itself.
    candidate_remarks : mapping of str to sequence of str, optional
        Remarks under a candidate's name.

    Returns
    -------
    str
        Reading it gives the same plan, its digest and path left aside; a meter that was given as a word comes back as
        the table that the word stands for.
    """
    said = dict(remarks or {})
    lines = [f"# {part}".rstrip() for line in _one_line_each(head)
             for part in wrap(line, _WIDEST_REMARK, subsequent_indent="   ") or [""]]
    lines += ["", f"title = {_value(plan.title)}"] if lines else [f"title = {_value(plan.title)}"]
    lines.append(f"reference = {_value(plan.reference)}")
    for name, model in TABLES.items():
        given = _given(plan, name, model, getattr(plan, name))
        prefix = f"{name}."
        loose = [key for key in said if key.startswith(prefix) and key.removeprefix(prefix) not in given]
        if given or loose:
            lines += ["", f"[{name}]"]
            lines += [_line(key, value, said.get(prefix + key, "")) for key, value in given.items()]
            lines += [f"# {said[key]}" for key in loose]
    for candidate in plan.candidates:
        lines += ["", "[[candidates]]", *_candidate(candidate)]
        lines += [f"# {line}" for line in _one_line_each((candidate_remarks or {}).get(candidate.name, ()))]
    return "\n".join(lines) + "\n"


def _given(plan: Plan, name: str, model: type[BaseModel], table: BaseModel) -> dict[str, Any]:
    """Return the keys of a table that have to be written for it to be read back the same."""
    everything = {key: getattr(table, key) for key in model.model_fields}
    stated = {key for key, value in everything.items() if value is not None and plan.states(f"{name}.{key}")}
    if name == "meter" and plan.states("meter"):
        stated |= {key for key, value in everything.items() if value is not None}
    read_back = model.model_validate({key: everything[key] for key in stated})
    stated |= {key for key, value in everything.items() if value is not None and getattr(read_back, key) != value}
    shared_out = name == "field" and plan.field.blocks is not None and bool(plan.field.stretches)
    if shared_out and not plan.states("field.block_minutes"):
        stated.discard("block_minutes")  # the reader shares the hours among the blocks again
    return {key: value for key, value in everything.items() if key in stated}


def _candidate(candidate: Candidate) -> list[str]:
    """Return the lines of one candidate: what its user gave, and what is not at its default."""
    lines = []
    for key, field in Candidate.model_fields.items():
        value = getattr(candidate, key)
        if value is not None and (value != field.default or key in candidate.model_fields_set):
            lines.append(_line(key, value))
    return lines


def _line(key: str, value: Any, remark: str = "") -> str:
    """Return one assignment; a long remark stands on a line before it."""
    text = f"{key} = {_value(value)}"
    remark = _one_line(remark)
    if not remark:
        return text
    together = f"{text:<34} # {remark}"
    return together if len(together) <= _WIDEST_REMARK else f"# {remark}\n{text}"


def _value(value: Any) -> str:
    """Write a value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):  # JSON's escapes are TOML's too, but for the delete character
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, complex):
        return _value(f"{_number(value.real)}{'-' if value.imag < 0 else '+'}{_number(abs(value.imag))}j")
    if isinstance(value, int | float):
        return _number(value)
    if isinstance(value, Sitting):
        return _value(str(value))
    if isinstance(value, BaseModel):
        given = {key: getattr(value, key) for key in type(value).model_fields}
        return "{ " + ", ".join(f"{key} = {_value(each)}" for key, each in given.items() if each is not None) + " }"
    return "[" + ", ".join(_value(each) for each in value) + "]"


def _number(value: float) -> str:
    """Write a number with every digit it has, a whole one without a point."""
    if isinstance(value, int) or (value == int(value) and abs(value) < 1e15):
        return str(int(value))
    return repr(float(value))


def _one_line_each(texts: Sequence[str]) -> list[str]:
    return [_one_line(text) for text in texts]


def _one_line(text: str) -> str:
    """Return a remark as one line of visible characters: TOML allows no others in a comment."""
    return "".join(letter if letter.isprintable() else " " for letter in text)
