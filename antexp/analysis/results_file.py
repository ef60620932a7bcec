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
from antexp.analysis.results_parts import (
    budgets_from,
    check_from,
    look_from,
    notice_from,
    opinion_from,
    receivers_from,
)
from antexp.analysis.results_values import LARGEST_DB, count, ends, number, slopes, spread, text, truth, within
from antexp.errors import Fault, JudgementError
from antexp.files import decode_text, has_unwritable, read_raw
from antexp.mixed.verdict import CANNOT_TELL, REAL_MAY_MATTER, VERDICTS
from antexp.plan.words import COMPARES

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
        As it was judged, without the record itself: `day` is empty, and so is what the pictures of `checks` show.

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
    written = decode_text(raw, name, "results file")
    try:
        document = json.loads(written)
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
    gaps = gaps_frame([_gap(row, document["matter_db"] is not None) for row in document["gaps"]])
    pairs = tuple((text(one), text(other)) for one, other in document["gaps_covariance_of"])
    covariance = np.array(document["gaps_covariance_db2"], dtype=float).reshape(len(pairs), len(pairs))
    drift = document["drift"]
    return Judgement(
        title=text(document["title"]), reference=text(document["reference"]),
        compare=text(document["compare"], COMPARES),
        confidence=within(document["confidence"], 0.0, 1.0), chance=within(document["chance"], 0.0, 1.0),
        matter_db=None if document["matter_db"] is None else within(document["matter_db"], 0.0, LARGEST_DB),
        readings=count(document["readings"]), swaps=count(document["swaps"]), blocks=count(document["blocks"]),
        candidates=tuple(map(text, document["candidates"])), gaps=gaps, gaps_covariance_db2=covariance,
        gaps_covariance_of=pairs, could_be_best=tuple(map(text, document["could_be_best"])),
        spread=Spread(**{name: spread(document["spread"].get(name)) for name in Spread.__dataclass_fields__}),
        drift=DriftSeen(text(drift["form"]), slopes(drift["db_per_hour"]), slopes(drift.get("db_per_hour2", {}))),
        restricted_log_likelihood=number(document["restricted_log_likelihood"]),
        warnings=tuple(notice_from(each) for each in document["warnings"]),
        provenance=_provenance(document["provenance"]), day=Day(pd.DataFrame(), pd.DataFrame(), pd.DataFrame()),
        budgets=budgets_from(document.get("gap_budgets", ()), document.get("matched_gaps", ())),
        second_opinions=tuple(opinion_from(each) for each in document.get("second_opinions", ())),
        checks=tuple(check_from(each) for each in document.get("checks", ())),
        look=look_from(document.get("look")),
        specimens=tuple((text(one), text(other)) for one, other in document.get("specimens", ())),
        receivers=receivers_from(document.get("receivers")),
        as_ranges=truth(document.get("as_ranges", False)),
    )


def _gap(row: Mapping[str, Any], sized: bool) -> dict[str, Any]:
    """Return one row of the gaps, what is null as NaN; without a gap that matters no verdict speaks of size."""
    verdict, counts = row["verdict"], row["counts"]
    allowed = VERDICTS if sized else (REAL_MAY_MATTER, CANNOT_TELL)
    if not isinstance(counts, bool) or (verdict not in allowed if counts or verdict is not None else False):
        raise ValueError(f"unknown verdict {verdict!r}")
    more = row.get("more_blocks")
    return {**{name: text(row[name]) for name in ("candidate", "against", "scope")},
            **{name: number(row[name]) for name in _NUMBERS}, "interval_db": ends(row["interval_db"]),
            "verdict": verdict, "counts": counts, "more_blocks": None if more is None else count(more)}


def _provenance(value: dict[str, Any]) -> dict[str, Any]:
    """Return what the results say of where they come from, once it has the form that others rely on."""
    for name in ("antexp", "plan_sha256", "readings_sha256"):
        if value.get(name) is not None:
            text(value[name])
    for version in dict(value.get("libraries", {})).values():
        if version is not None:
            text(version)
    if not isinstance(value.get("libraries", {}), dict) or not isinstance(value.get("settings", {}), dict):
        raise TypeError("provenance is not as it should be")
    return dict(value)
