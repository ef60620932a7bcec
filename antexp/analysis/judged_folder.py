"""Which files a judgement was made from: found in a folder by the digests that the results carry."""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from typing import Any

from antexp.analysis.judge import judge
from antexp.analysis.results_file import MAX_BYTES, RESULTS_NAME, results_document
from antexp.columns import BENCH_BOOK, ORDER
from antexp.errors import Fault, InputError, JudgementError
from antexp.files import read_raw

LARGEST_FILE = 256 * 2**20
"""The largest file that is looked at."""


@dataclass(frozen=True)
class JudgedFiles:
    """The files of one judged experiment.

    Attributes
    ----------
    folder : Path
        Where they were looked for.
    results : bytes
        The results file as it stands.
    document : dict
        What it says.
    plan, readings, bench : Path or None
        The files it was made from, as far as they were found or given.
    orders : tuple of Path
        The order files that it may have been made from; after `judge_again` the one that it was, or none.
    """

    folder: Path
    results: bytes
    document: dict[str, Any]
    plan: Path | None
    readings: Path | None
    bench: Path | None
    orders: tuple[Path, ...] = ()


def find_judged(folder: str | os.PathLike[str], *, plan: str | os.PathLike[str] | None = None,
                readings: str | os.PathLike[str] | None = None, order: str | os.PathLike[str] | None = None,
                bench: str | os.PathLike[str] | None = None, above: bool = True) -> JudgedFiles:
    """Find the files of a judgement.

    Parameters
    ----------
    folder : path-like
        The folder that ``judge -o`` wrote to; the plan, readings, order and bench book are looked for there, then in
        the folder above it, by their digests; the last two by their columns, there alone, where the results have no
        digest of them.
    plan, readings, order, bench : path-like, optional
        Files that stand elsewhere.
    above : bool
        False looks in the folder alone.

    Raises
    ------
    FileError, JudgementError
        When there are no results, or a file that was given is not the one that was judged.
    """
    place = Path(folder)
    if place.is_file():
        place = place.parent
    raw = read_raw(place / RESULTS_NAME, "results file", MAX_BYTES)
    document = results_document(raw, str(place / RESULTS_NAME))
    provenance = document["provenance"]
    here = list(_files(place))
    near = [*here, *(_files((place if place.name not in ("", "..") else place.resolve()).parent) if above else ())]
    faults: list[Fault] = []
    return_plan = _by_digest(plan, near, ".toml", provenance.get("plan_sha256"), "plan", faults)
    return_readings = _by_digest(readings, near, ".csv", provenance.get("readings_sha256"), "readings file", faults)
    others = [file for file in here if file.suffix.lower() == ".csv" and file != return_readings]
    benches = _candidates(bench, near, others, provenance, "bench_sha256", "bench book", (BENCH_BOOK.names, 2), faults)
    orders = _candidates(order, near, others, provenance, "order_sha256", "order file",
                         (ORDER.names, len(ORDER.names)), faults)
    if orders and order is None:  # others of the day are kept beside it: what hung before the rest was laid out anew
        orders = tuple(dict.fromkeys((*orders, *_by_columns(others, ORDER.names, len(ORDER.names)))))
    if faults:
        raise JudgementError(faults)
    return JudgedFiles(place, raw, document, return_plan, return_readings, benches[0] if len(benches) == 1 else None,
                       orders)


_NUMBER, _WORD = (int, float, type(None)), (str, type(None))
_ASKED = {"reference": _WORD, "compare": _WORD, "drift": _WORD, "matter_db": _NUMBER, "confidence": _NUMBER,
          "chance": _NUMBER}
"""Settings that a judgement is asked with."""


def judge_again(files: JudgedFiles) -> tuple[JudgedFiles, bytes] | None:
    """Judge the files of a judgement once more, as it was asked then.

    Returns
    -------
    tuple of JudgedFiles and bytes, or None
        The files that were used and the results file they give. Where the results have no digest of an order or bench
        book, those that were found are left out where only then the bytes agree. None without the readings, or
        where the files cannot be judged.
    """
    if files.readings is None or (files.plan is None and files.document["provenance"].get("plan_sha256")):
        return None
    settings = files.document["provenance"].get("settings", {})
    asked = {name: value for name, value in settings.items() if name in _ASKED}
    if not all(isinstance(value, _ASKED[name]) for name, value in asked.items()):
        return None  # somebody else's hand: antexp writes words and numbers
    first: tuple[JudgedFiles, bytes] | None = None
    for order, bench in product((*files.orders, None), dict.fromkeys((files.bench, None))):
        try:
            found = judge(files.readings, files.plan, order, **asked, bench=bench,
                          second_opinions=bool(files.document.get("second_opinions")))
        except InputError:
            continue
        used = replace(files, bench=bench, orders=() if order is None else (order,))
        again = (used, found.to_json().encode("utf-8"))
        if again[1] == files.results:
            return again
        first = first or again
    return first


def differing_keys(one: dict[str, Any], other: dict[str, Any]) -> list[str]:
    """Return the keys of two results documents that do not agree."""
    return sorted(key for key in {*one, *other} if one.get(key) != other.get(key))


def _files(place: Path) -> Iterator[Path]:
    """Return the plain files of a folder by name; links and folders are left alone, and a folder nobody may read."""
    try:
        paths = sorted(place.iterdir())
    except OSError:
        return
    for path in paths:
        if path.is_file() and not path.is_symlink() and path.stat().st_size <= LARGEST_FILE:
            yield path


def _by_digest(given: str | os.PathLike[str] | None, files: list[Path], suffix: str, digest: str | None, what: str,
               faults: list[Fault]) -> Path | None:
    """Return the file with a digest: the one given, which must have it, else the first of the files that has."""
    if given is not None:
        if hashlib.sha256(read_raw(given, what, LARGEST_FILE)).hexdigest() != digest:
            faults.append(Fault(f"this is not the {what} that was judged", str(given),
                                do="Its digest is not the one in results.json; judge again, or name the right file."))
        return Path(given)
    if digest is None:
        return None
    return next((file for file in files if file.suffix.lower() == suffix and _digest_of(file) == digest), None)


def _digest_of(file: Path) -> str:
    """Return a file's SHA-256; "" for one that nobody may read."""
    try:
        with file.open("rb") as stream:
            return hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError:
        return ""


def _candidates(given: str | os.PathLike[str] | None, near: list[Path], others: list[Path],
                provenance: dict[str, Any], key: str, what: str, columns: tuple[tuple[str, ...], int],
                faults: list[Fault]) -> tuple[Path, ...]:
    """Return the order or the bench book by its digest; results of before have none, so that columns must do."""
    if provenance.get(key) is not None:
        found = _by_digest(given, near, ".csv", provenance[key], what, faults)
        return () if found is None else (found,)
    return (Path(given),) if given is not None else _by_columns(others, *columns)


def _by_columns(files: list[Path], columns: tuple[str, ...], least: int) -> tuple[Path, ...]:
    """Return the tables that have these columns and no others."""
    found = []
    for file in files:
        try:
            with file.open(encoding="utf-8-sig", newline="") as stream:
                head = next(csv.reader(stream), [])
        except (OSError, UnicodeDecodeError, csv.Error):
            continue
        known = [name for name in head if name in columns]
        if known and "candidate" in known and len(known) == len(head) and len(known) >= least:
            found.append(file)
    return tuple(found)
