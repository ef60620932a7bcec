"""A judgement read back from its results file."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.gap_table import gaps_frame
from antexp.analysis.result import Day, DriftSeen, Judgement, Spread
from antexp.errors import Fault, JudgementError
from antexp.files import decode_text, has_unwritable, read_raw
from antexp.mixed.verdict import VERDICTS
from antexp.notices import Notice

RESULTS_NAME = "results.json"
MAX_BYTES = 64 * 2**20
"""The largest results file that is believed."""

_NUMBERS = ("gap_db", "standard_error_db", "degrees_of_freedom", "p_value", "p_adjusted", "resolution_db",
            "detectable_db")
_ASKED = ("reference", "each-other", "best")
_LARGEST, _LARGEST_DB = 1e12, 1e4
"""No number of a judgement, and no decibel, is beyond these."""

_ADVICE = "Judge the readings again with antexp judge … -o DIR."


def read_results(where: str | os.PathLike[str]) -> Judgement:
    """Read a judgement back.

    Parameters
    ----------
    where : path-like
        A results file, or the folder that ``judge -o`` wrote it to.

    Returns
    -------
    Judgement
        As it was judged, without the record itself (`day` is empty) and what was computed from it besides (gap
        budgets, checks and second opinions are left out).

    Raises
    ------
    FileError
        When there is no such file, or it cannot be read.
    JudgementError
        When it is not a results file, or one that this antexp does not understand.
    """
    path = Path(where)
    if path.is_dir():
        path = path / RESULTS_NAME
    document = results_document(read_raw(path, "results file", MAX_BYTES), str(path))
    try:
        return _judgement(document)
    except (KeyError, TypeError, ValueError, AttributeError, IndexError, OverflowError) as error:
        raise JudgementError(Fault("the results file is not as antexp writes it", str(path),
                                   f"{type(error).__name__}: {error}"[:120], do=_ADVICE)) from None


def results_document(raw: bytes, name: str) -> dict[str, Any]:
    """Return the document in a results file's bytes.

    Raises
    ------
    FileError, JudgementError
        When the bytes are not text, not JSON, or not of a judgement.
    """
    text = decode_text(raw, name, "results file")
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise JudgementError(Fault("the results file is not JSON", name, str(error)[:80], do=_ADVICE)) from None
    if has_unwritable(document):
        raise JudgementError(Fault("the results file has text with control characters in it", name, do=_ADVICE))
    if (not isinstance(document, dict) or not {"gaps", "reference", "provenance"} <= set(document)
            or not isinstance(document["provenance"], dict)):
        raise JudgementError(Fault("this is not the results file of a judgement", name, do=_ADVICE))
    return document


def _judgement(document: Mapping[str, Any]) -> Judgement:
    """Put the judgement together; whatever does not fit raises."""
    gaps = gaps_frame([_gap(row) for row in document["gaps"]])
    pairs = tuple((_text(one), _text(other)) for one, other in document["gaps_covariance_of"])
    covariance = np.array(document["gaps_covariance_db2"], dtype=float).reshape(len(pairs), len(pairs))
    drift = document["drift"]
    return Judgement(
        title=_text(document["title"]), reference=_text(document["reference"]),
        compare=_text(document["compare"], _ASKED),
        confidence=_within(document["confidence"], 0.0, 1.0), chance=_within(document["chance"], 0.0, 1.0),
        matter_db=None if document["matter_db"] is None else _within(document["matter_db"], 0.0, _LARGEST_DB),
        readings=_count(document["readings"]), swaps=_count(document["swaps"]), blocks=_count(document["blocks"]),
        candidates=tuple(map(_text, document["candidates"])), gaps=gaps, gaps_covariance_db2=covariance,
        gaps_covariance_of=pairs, could_be_best=tuple(map(_text, document["could_be_best"])),
        spread=Spread(**{name: _spread(document["spread"].get(name)) for name in Spread.__dataclass_fields__}),
        drift=DriftSeen(_text(drift["form"]), _slopes(drift["db_per_hour"]), _slopes(drift.get("db_per_hour2", {}))),
        restricted_log_likelihood=_number(document["restricted_log_likelihood"]),
        warnings=tuple(Notice(_text(each["code"]), _text(each["text"])) for each in document["warnings"]),
        provenance=_provenance(document["provenance"]), day=Day(pd.DataFrame(), pd.DataFrame(), pd.DataFrame()),
        specimens=tuple((_text(one), _text(other)) for one, other in document.get("specimens", ())),
    )


def _gap(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return one row of the gaps, what is null as NaN."""
    verdict, counts = row["verdict"], row["counts"]
    if not isinstance(counts, bool) or (verdict not in VERDICTS if counts or verdict is not None else False):
        raise ValueError(f"unknown verdict {verdict!r}")
    low, high = row["interval_db"]
    more = row.get("more_blocks")
    return {**{name: _text(row[name]) for name in ("candidate", "against", "scope")},
            **{name: _number(row[name]) for name in _NUMBERS}, "interval_db": [_number(low), _number(high)],
            "verdict": verdict, "counts": counts, "more_blocks": None if more is None else _count(more)}


def _number(value: Any) -> float:
    """Return a number; null is NaN."""
    return float("nan") if value is None else _within(value, -_LARGEST, _LARGEST)


def _within(value: Any, low: float, high: float) -> float:
    """Return a number between two ends; whatever else it is, raises."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise ValueError(f"{str(value)[:40]} is not a number from {low:g} to {high:g}")
    return float(value)


def _count(value: Any) -> int:
    """Return a whole number from 0; results of earlier versions have it as 3.0."""
    if not isinstance(value, int) and not (isinstance(value, float) and value.is_integer()):
        raise TypeError(f"{str(value)[:40]} is not a whole number")
    return int(_within(value, 0, _LARGEST))


def _text(value: Any, allowed: tuple[str, ...] = ()) -> str:
    """Return text."""
    if not isinstance(value, str) or (allowed and value not in allowed):
        raise TypeError(f"{str(value)[:40]} is not {' or '.join(allowed) or 'text'}")
    return value


def _spread(value: Any) -> float | None:
    """Return a standard deviation; null where there is none."""
    return None if value is None else _within(value, 0.0, _LARGEST_DB)


def _slopes(value: Mapping[str, Any]) -> dict[str, float]:
    """Return a number for each block."""
    return {block: _number(slope) for block, slope in value.items()}


def _provenance(value: dict[str, Any]) -> dict[str, Any]:
    """Return what the results say of where they come from, once it has the form that others rely on."""
    for name in ("antexp", "plan_sha256", "readings_sha256"):
        if value.get(name) is not None:
            _text(value[name])
    for number in dict(value.get("libraries", {})).values():
        if number is not None:
            _text(number)
    if not isinstance(value.get("libraries", {}), dict) or not isinstance(value.get("settings", {}), dict):
        raise TypeError("provenance is not as it should be")
    return dict(value)
