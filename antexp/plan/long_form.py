"""Brings every shape a plan may have into the long form: five lines or tables, strings or tables, a word or a table."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from antexp.plan.faults import TABLES, TOP_KEYS, Found, at, unknown_key
from antexp.plan.nearest import nearest
from antexp.plan.source import Source
from antexp.plan.toml_lines import KeyPath
from antexp.plan.words import METER_WORDS

_MOVES = {"frequency_mhz": "radio", "matter_db": "question", "hours": "field"}

MOST_CANDIDATES = 200

METER_MEANINGS: dict[str, dict[str, Any]] = {
    # common practice, no source: what these meters usually show, and how far their readings scatter
    "spectrum analyser": {"scale": "dBm", "step_db": 0.1, "bandwidth_hz": 300.0, "reading_sd_db": 0.25},
    "SDR": {"scale": "dB", "step_db": 0.1, "bandwidth_hz": 500.0, "reading_sd_db": 0.3},
    "S-meter": {"scale": "S units", "step_db": 6.0, "bandwidth_hz": 2400.0, "reading_sd_db": 1.5},
    "S-meter and attenuator": {"scale": "attenuator", "step_db": 1.0, "bandwidth_hz": 2400.0, "reading_sd_db": 0.5},
}


@dataclass(frozen=True)
class LongForm:
    """A plan in the long form, not yet checked.

    Attributes
    ----------
    title, reference : object
        As written, None where left out.
    candidates : tuple
        A mapping each, or whatever else stood there.
    tables : dict of str to object
        ``question``, ``radio``, ``meter``, ``field``: a mapping each, or whatever else stood there.
    stated : frozenset of str
        The keys the user gave, as ``"field.hours"``.
    meter_word : str
        The word from which the meter's table was made; empty where there was none.
    faults : tuple
        What could not be brought into the form.
    """

    title: Any
    reference: Any
    candidates: tuple[Any, ...]
    tables: dict[str, Any]
    stated: frozenset[str]
    meter_word: str
    faults: tuple[Found, ...]


def long_form(document: Mapping[str, Any], source: Source) -> LongForm:
    """Bring a plan's document into the long form.

    Parameters
    ----------
    document : mapping
        As read from TOML, or given by the user and made `plain`.
    source : Source
        Its text; ``origins`` and ``names`` are filled in.
    """
    faults: list[Found] = [unknown_key(source, (key,), TOP_KEYS) for key in document if key not in TOP_KEYS]
    tables: dict[str, Any] = {name: document.get(name, {}) for name in TABLES}
    tables = {name: dict(table) if isinstance(table, Mapping) else table for name, table in tables.items()}
    word, meter_faults = _meter(tables, source)
    stated = {f"{name}.{key}" for name, table in tables.items() if isinstance(table, dict) for key in table}
    if word:
        stated = {key for key in stated if not key.startswith("meter.")}
    faults += meter_faults + _move_top_keys(document, tables, stated, source) + _spread_ground(tables, source)
    candidates, candidate_faults = _candidates(document.get("candidates"), source)
    stated |= {key for key in ("title", "reference", "candidates", "meter") if key in document}
    stated |= {f"candidates.{key}" for item in candidates if isinstance(item, dict) for key in item}
    return LongForm(document.get("title"), document.get("reference"), candidates, tables, frozenset(stated), word,
                    (*faults, *candidate_faults))


def plain(value: Any) -> Any:
    """Return mappings and lists as plain ones, keys as text, without entries that are None."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items() if item is not None}
    return [plain(item) for item in value] if isinstance(value, list | tuple) else value


def _meter(tables: dict[str, Any], source: Source) -> tuple[str, list[Found]]:
    """Turn a meter's word into its table."""
    meter = tables["meter"]
    if not isinstance(meter, str):
        return "", []
    tables["meter"] = dict(METER_MEANINGS.get(meter, {}))
    if meter in METER_MEANINGS:
        return meter, []
    near = nearest(meter, METER_WORDS)
    allowed = ", ".join(f'"{word}"' for word in METER_WORDS) + ", or a table [meter]"
    return "", [at(source, ("meter",), "meter is not a word I know", meter, allowed,
                   f'Did you mean "{near}"?' if near else "")]


def _move_top_keys(document: Mapping[str, Any], tables: dict[str, Any], stated: set[str],
                   source: Source) -> list[Found]:
    """Move the keys that may stand at the top into their tables."""
    faults = []
    for key, home in _MOVES.items():
        table = tables[home]
        if key not in document or not isinstance(table, dict):
            continue
        if key in table:
            faults.append(at(source, (key,), f"{key} stands at the top and in [{home}] as well", document[key],
                             do="Keep one of the two."))
            continue
        table[key] = document[key]
        stated.add(f"{home}.{key}")
        source.origins[(home, key)] = (key,)
    return faults


def _spread_ground(tables: dict[str, Any], source: Source) -> list[Found]:
    """Let ``ground = { permittivity = …, conductivity_s_per_m = … }`` be the two keys of the radio table."""
    radio = tables["radio"]
    if not isinstance(radio, dict) or not isinstance(radio.get("ground"), dict):
        return []
    faults = []
    for key, value in radio.pop("ground").items():
        if key in radio or key not in ("permittivity", "conductivity_s_per_m"):
            source.origins[("radio", "ground", key)] = ("radio", "ground", key)
            faults.append(at(source, ("radio", "ground", key), "unknown or repeated key", key,
                             "permittivity, conductivity_s_per_m"))
            continue
        radio[key] = value
        source.origins[("radio", key)] = ("radio", "ground", key)
    return faults


def _candidates(given: Any, source: Source) -> tuple[tuple[Any, ...], list[Found]]:
    """Turn plain names into candidates with nothing but a name."""
    path: KeyPath = ("candidates",)
    if given is None:
        return (), [(0, at(source, (), "candidates is missing",
                           do='Name what is compared: candidates = ["bare copper 1.5 mm", "aluminium 2 mm"].')[1])]
    if not isinstance(given, list):
        return (), [at(source, path, "candidates is not a list", given, "a list of names, or [[candidates]] tables")]
    if len(given) > MOST_CANDIDATES:
        return (), [at(source, path, f"there are {len(given)} candidates", allowed=f"2 to {MOST_CANDIDATES}")]
    found: list[Any] = []
    faults: list[Found] = []
    for number, item in enumerate(given):
        if isinstance(item, str):
            source.origins[(*path, number, "name")] = (*path, number)
            item = {"name": item}
        if isinstance(item, dict):
            name = item.get("name")
            if isinstance(name, str):
                source.names[number] = name
        else:
            faults.append(at(source, (*path, number), "a candidate is neither a name nor a table", item))
        found.append(item)
    return tuple(found), faults
