"""A judgement read back from its results file."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp.analysis.result import GAP_COLUMNS, Day, DriftSeen, Judgement, Spread
from antexp.errors import Fault, JudgementError
from antexp.files import decode_text, has_unwritable, read_raw
from antexp.mixed.verdict import VERDICTS
from antexp.notices import Notice

RESULTS_NAME = "results.json"
MAX_BYTES = 64 * 2**20
"""The largest results file that is believed."""

_NUMBERS = ("gap_db", "standard_error_db", "degrees_of_freedom", "p_value", "p_adjusted", "resolution_db",
            "detectable_db")
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
    gaps = pd.DataFrame([_gap(row) for row in document["gaps"]], columns=list(GAP_COLUMNS))
    gaps = gaps.astype({"counts": bool, "more_blocks": object, "verdict": object})
    pairs = tuple((str(one), str(other)) for one, other in document["gaps_covariance_of"])
    covariance = np.array(document["gaps_covariance_db2"], dtype=float).reshape(len(pairs), len(pairs))
    drift = document["drift"]
    return Judgement(
        title=str(document["title"]), reference=str(document["reference"]), compare=str(document["compare"]),
        confidence=float(document["confidence"]), chance=float(document["chance"]),
        matter_db=None if document["matter_db"] is None else float(document["matter_db"]),
        readings=int(document["readings"]), swaps=int(document["swaps"]), blocks=int(document["blocks"]),
        candidates=tuple(str(name) for name in document["candidates"]), gaps=gaps, gaps_covariance_db2=covariance,
        gaps_covariance_of=pairs, could_be_best=tuple(str(name) for name in document["could_be_best"]),
        spread=Spread(**{name: document["spread"].get(name) for name in Spread.__dataclass_fields__}),
        drift=DriftSeen(str(drift["form"]), dict(drift["db_per_hour"]), dict(drift.get("db_per_hour2", {}))),
        restricted_log_likelihood=_number(document["restricted_log_likelihood"]),
        warnings=tuple(Notice(str(each["code"]), str(each["text"])) for each in document["warnings"]),
        provenance=dict(document["provenance"]), day=Day(pd.DataFrame(), pd.DataFrame(), pd.DataFrame()),
        specimens=tuple((str(one), str(other)) for one, other in document.get("specimens", ())),
    )


def _gap(row: Mapping[str, Any]) -> dict[str, Any]:
    """Return one row of the gaps, what is null as NaN."""
    if row["verdict"] is not None and row["verdict"] not in VERDICTS:
        raise ValueError(f"unknown verdict {row['verdict']!r}")
    low, high = row["interval_db"]
    return {**{name: row.get(name) for name in GAP_COLUMNS}, **{name: _number(row[name]) for name in _NUMBERS},
            "interval_db": [_number(low), _number(high)]}


def _number(value: Any) -> float:
    """Return a number; null is NaN."""
    return float("nan") if value is None else float(value)
