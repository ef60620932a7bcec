"""Reads a plan, from a file or a mapping, and refuses it with every fault at once."""

from __future__ import annotations

import hashlib
import json
import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from antexp.errors import Fault, PlanError
from antexp.files import decode_text, read_raw
from antexp.plan import cross_checks
from antexp.plan.assumptions import assumptions
from antexp.plan.faults import TABLES, Found, translate
from antexp.plan.long_form import LongForm, long_form, plain
from antexp.plan.model import Candidate, Field, Heading, Plan
from antexp.plan.source import Source, shorten, show
from antexp.plan.toml_lines import KeyPath, key_lines

_MOST_BYTES = 2**20  # thousands of lines; a bigger file is no plan
_KEY_PART = r"""(?:[A-Za-z0-9_-]++|"[^"\n]*"|'[^'\n]*')"""
_ENDLESS_KEY = re.compile(rf"(?<![A-Za-z0-9_-]){_KEY_PART}(?:[ \t]*\.[ \t]*{_KEY_PART}){{100}}")
_MOST_KEYS = 10_000  # of 200 candidates with everything said of each it has half as many
_MOST_FAULTS = 200  # of a message that somebody is to read
_DEEPEST = 8  # levels of nesting; the long form has four


def read_plan(path: str | os.PathLike[str]) -> Plan:
    """Read and check a plan file.

    Parameters
    ----------
    path : path-like
        A TOML file in the five-line or the long form.

    Returns
    -------
    Plan
        With every default filled in and read back in ``assumptions``.

    Raises
    ------
    FileError
        When the file cannot be read.
    PlanError
        When anything in it is at fault: all faults, in the order of their lines.
    """
    raw = read_raw(path, "plan", _MOST_BYTES)
    text = decode_text(raw, path, "plan")
    document = _parse(text, str(path))
    return _build(document, Source(str(path), key_lines(text)), hashlib.sha256(raw).hexdigest(), Path(path))


def as_plan(plan: str | os.PathLike[str] | Plan) -> Plan:
    """Return a plan as it is, or read it where its file is named."""
    return read_plan(plan) if isinstance(plan, str | os.PathLike) else plan


def plan_from_dict(mapping: Mapping[str, Any]) -> Plan:
    """Check a plan given as a mapping with the keys of a plan file, as from a notebook.

    Parameters
    ----------
    mapping : mapping
        The five-line or the long form; entries that are None count as left out.

    Returns
    -------
    Plan
        As `read_plan`; its digest is that of the mapping as sorted JSON.

    Raises
    ------
    PlanError
        When anything in it is at fault: all faults.
    """
    if not isinstance(mapping, Mapping):
        raise PlanError(Fault("a plan is a mapping", "plan", type(mapping).__name__,
                              do="To read a file, call read_plan."))
    return _build(mapping, Source("plan"), "", None)


def _parse(text: str, name: str) -> dict[str, Any]:
    """Read TOML, or say on which line it is not."""
    endless = _ENDLESS_KEY.search(text)  # the time that TOML readers take grows with the square of a key's parts
    if endless:
        raise PlanError(Fault("a key has too many parts", f"{name}, line {text.count(chr(10), 0, endless.start()) + 1}",
                              shorten(endless[0]), do="Keys of a plan have two parts at most."))
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # TOMLDecodeError, a number of 5000 digits, lists 1000 deep
        raise PlanError(_not_toml(str(error), text, name)) from None


def _not_toml(message: str, text: str, name: str) -> Fault:
    """Return the fault of a text that is not TOML, with its line as far as the message tells it."""
    lines = text.rstrip("\n").split("\n")
    place = re.search(r"\(at line (\d+), column \d+\)", message)
    number = min(int(place[1]), len(lines)) if place else len(lines) if "(at end of document)" in message else 0
    reason = re.sub(r"\s*\(at .*\)$", "", message)
    if "overwrite" in reason or "twice" in reason or "multiple times" in reason:
        reason, do = "a key or table stands there twice", "Keep one of the two."
    else:
        do = "Text stands in quotes, numbers have a decimal point and no unit, lists stand in square brackets."
    where = f"{name}, line {number}" if number else name
    return Fault(f"the plan is not valid TOML ({shorten(reason)})", where,
                 show(lines[number - 1].strip()) if number else "", do=do)


def _build(document: Mapping[str, Any], source: Source, digest: str, path: Path | None) -> Plan:
    """Check every part of a plan, then what they are together, and put it together."""
    deep = [key for key, value in document.items() if _depth(value) > _DEEPEST]
    if deep:
        raise PlanError(Fault("lists or tables are nested too deeply", source.where((str(key),))) for key in deep)
    keys = _count_keys(document)
    if keys > _MOST_KEYS:
        raise PlanError(Fault("the plan has too many keys", source.where(()), str(keys), f"up to {_MOST_KEYS}",
                              "Is this the right file?"))
    document = plain(document)
    digest = digest or hashlib.sha256(json.dumps(document, sort_keys=True, default=str).encode()).hexdigest()
    form = long_form(document, source)
    found = list(form.faults)
    tables = {name: _validated(TABLES[name], form.tables[name], (name,), source, found) for name in TABLES}
    candidates = [_validated(Candidate, item, ("candidates", number), source, found) if isinstance(item, dict) else None
                  for number, item in enumerate(form.candidates)]
    heading = {} if form.title is None else {"title": form.title}
    title = _validated(Heading, heading, (), source, found)
    field = tables["field"]
    if isinstance(field, Field):
        tables["field"] = field = _with_block_minutes(field, form)
    found += _together(form, candidates, tables, source)
    if found:
        found.sort(key=lambda item: item[0] or 10**9)
        left = len(found) - _MOST_FAULTS
        more = [Fault(f"{left} more things are wrong with the plan", source.where(()))] if left > 0 else []
        raise PlanError([*(fault for _, fault in found[:_MOST_FAULTS]), *more])
    return _complete(form, candidates, tables, title.title, digest, path)


def _validated(model: type[BaseModel], given: Any, path: KeyPath, source: Source, found: list[Found]) -> Any:
    """Return one table as its model; None, and its faults among those found, where it is at fault."""
    try:
        return model.model_validate(given)
    except ValidationError as error:
        found += translate(error, path, source)
        return None


def _with_block_minutes(field: Field, form: LongForm) -> Field:
    """Share the stated hours among the stated blocks where the length of a block is left out."""
    if "field.block_minutes" in form.stated or field.blocks is None or not field.stretches:
        return field
    return field.model_copy(update={"block_minutes": cross_checks.longest_blocks(field.stretches, field.blocks)})


def _together(form: LongForm, candidates: Sequence[Any], tables: dict[str, Any], source: Source) -> list[Found]:
    """Return the faults that show only between values; parts that are at fault themselves are left out."""
    field, radio = tables["field"], tables["radio"]
    found: list[Found] = []
    if form.candidates or not form.faults:
        found += cross_checks.check_names(source.names, len(form.candidates), form.reference, source)
    reference = source.names.get(0) if form.reference is None else form.reference
    for number, candidate in enumerate(candidates):
        if candidate is not None:
            blocks = field.blocks if field else None
            found += cross_checks.check_candidate(number, candidate, blocks, reference, source)
    found += cross_checks.check_radio(radio, form.stated, source) if radio else []
    return found + (cross_checks.check_field(field, form.stated, source) if field else [])


def _complete(form: LongForm, candidates: Sequence[Any], tables: dict[str, Any], title: str, digest: str,
              path: Path | None) -> Plan:
    """Put the checked parts together and read back what was assumed."""
    plan = Plan(
        title=title,
        reference=candidates[0].name if form.reference is None else form.reference,
        candidates=tuple(candidates),
        stated=form.stated,
        sha256=digest,
        path=path,
        **tables,
    )
    return plan.model_copy(update={"assumptions": assumptions(plan, form.meter_word)})


def _count_keys(value: Any) -> int:
    """Return how many keys stand in a document that is not nested too deeply."""
    if isinstance(value, Mapping):
        return len(value) + sum(map(_count_keys, value.values()))
    return sum(map(_count_keys, value)) if isinstance(value, list | tuple) else 0


def _depth(value: Any) -> int:
    """Return how many lists and tables stand inside one another, counting no further than is asked."""
    level, layer = 0, [value]
    while level <= _DEEPEST and any(isinstance(item, Mapping | list | tuple) for item in layer):
        level += 1
        layer = [inner for item in layer if isinstance(item, Mapping | list | tuple)
                 for inner in (item.values() if isinstance(item, Mapping) else item)]
    return level
