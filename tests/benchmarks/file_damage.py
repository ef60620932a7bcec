"""Damage to sound files for `tests/benchmarks/fuzzing.py`: the same random generator gives the same damage."""

from __future__ import annotations

import hashlib
import io
import json
import random
import zipfile
from collections.abc import Iterator
from contextlib import suppress
from copy import deepcopy
from typing import Any

TOKENS = [token.encode("utf-8", "surrogatepass") for token in (
    "", " ", "\n", "\r", "\r\n", "\0", "\t", '"', '""', "'", ",", ";", "|", "#", "=", "[", "]", "{", "}", "[[", "]]",
    '"""', "'''", "\\", "\\u0000", "\\ud800", "\ud800", "\ufeff", "\u202e", "\u2028", "−", "½", "٣", "²", "nan", "inf",
    "-inf", "1e308", "-1e308", "1e999", "9" * 400, "9" * 5000, "0x10", "1_000", "0", "-0", "-1", "1.5", "true", "null",
    "1979-05-27T07:32:00Z", "24:00", "9999-12-31T23:59:59", "0001-01-01T00:00+14:00", "S9+10", "S99", "62+9j", "j",
    "../../etc/passwd", "/dev/zero", "C:\\con", "=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "<script>alert(1)</script>",
    "\"><img src=x onerror=alert(1)>", "{{7*7}}", "$x^$", "%s%n", "\x1b]0;x\x07", "reference", "candidate", "off",
    "swap", "level_db", "level_s", "candidates", "inf,nan", "a" * 70_000, "," * 5000)]
VALUES: tuple[Any, ...] = (None, True, False, 0, 1, -1, 2**63, 10**400, 0.5, -1e308, 1e308, "", "x", "nan", "9" * 5000,
                           "\ud800", "=1+1", [], [[]], {}, {"": None}, [None] * 50, [[1, 2]] * 3, "<script>", 3.7)


def mutated(seed: bytes, rng: random.Random, other: bytes = b"") -> bytes:
    """Return a damaged copy of a sound file: one to four kinds of damage, now and then one that is very large."""
    if seed[:2] == b"PK" and rng.random() < 0.7:
        return _archive_damage(seed, rng, other)
    content = bytearray(seed)
    if seed[:1] == b"{" and rng.random() < 0.6:
        content = bytearray(_json_damage(seed, rng))
        if rng.random() < 0.8:
            return bytes(content)
    for _ in range(rng.choice((1, 1, 1, 2, 2, 3, 4))):
        rng.choice(_DAMAGE)(content, rng, other)
    return _large(content, rng) if rng.random() < 0.003 else bytes(content)


def _at(content: bytearray, rng: random.Random) -> int:
    return rng.randrange(len(content) + 1)


def _put_token(content: bytearray, rng: random.Random, other: bytes) -> None:
    at = _at(content, rng)
    content[at : at + rng.choice((0, 0, 1, 3, 8))] = rng.choice(TOKENS)


def _flip(content: bytearray, rng: random.Random, other: bytes) -> None:
    for _ in range(rng.choice((1, 1, 2, 8))):
        if content:
            content[rng.randrange(len(content))] = rng.randrange(256)


def _cut(content: bytearray, rng: random.Random, other: bytes) -> None:
    at = _at(content, rng)
    del content[at : at + rng.choice((1, 5, 40, 10**9))]


def _repeat(content: bytearray, rng: random.Random, other: bytes) -> None:
    at, length = _at(content, rng), rng.choice((1, 4, 30, 200))
    content[at:at] = content[at : at + length] * rng.choice((1, 2, 30))


def _splice(content: bytearray, rng: random.Random, other: bytes) -> None:
    at, start = _at(content, rng), rng.randrange(len(other) + 1)
    content[at : at + rng.choice((0, 20, 10**9))] = other[start : start + rng.choice((10, 60, 10**9))]


def _cell(content: bytearray, rng: random.Random, other: bytes) -> None:
    """Put another value in place of a cell, a key's value or a list's entry."""
    ends = [place for place, byte in enumerate(content) if byte in b",\n=[]"]
    if len(ends) > 1:
        place = rng.randrange(len(ends) - 1)
        content[ends[place] + 1 : ends[place + 1]] = rng.choice(TOKENS)


def _lines(content: bytearray, rng: random.Random, other: bytes) -> None:
    lines = content.split(b"\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(3)
    if kind == 0:
        lines[one], lines[two] = lines[two], lines[one]
    elif kind == 1:
        lines.insert(two, lines[one])
    else:
        del lines[one]
    content[:] = b"\n".join(lines)


def _encoding(content: bytearray, rng: random.Random, other: bytes) -> None:
    text = bytes(content).decode("utf-8", "replace")
    kind = rng.randrange(4)
    content[:] = (text.encode("utf-16") if kind == 0 else b"\xef\xbb\xbf" + bytes(content) if kind == 1
                  else text.encode("latin-1", "replace") if kind == 2 else text.replace("\n", "\r").encode("utf-8"))


_DAMAGE = (_put_token, _put_token, _flip, _cut, _repeat, _splice, _cell, _cell, _lines, _encoding)


def _large(content: bytearray, rng: random.Random) -> bytes:
    """Return a file that is far larger than it should be."""
    head, _, rest = bytes(content).partition(b"\n")
    return rng.choice((
        lambda: head + b"," + b",".join(b"c%d" % n for n in range(100_000)) + b"\n" + rest,
        lambda: head + b"\n" + b",".join([b"1"] * 100_000) + b"\n" + rest,
        lambda: bytes(content) + b'"' + b"x" * 1_500_000,
        lambda: bytes(content) + rest[:200] * 2_000,
        lambda: bytes(content) + b"\nx = " + b"[" * 50_000,
        lambda: b'{"a":' * 50_000 + bytes(content),
        lambda: bytes(content) + b"\n[a" + b".a" * 20_000 + b"]\n",
        lambda: bytes(content).replace(b"1", b"9" * 4_301),
    ))()


def _json_damage(seed: bytes, rng: random.Random) -> bytes:
    """Put odd values in place of some values of a JSON document, leave some out, or add one."""
    document = json.loads(seed)
    for _ in range(rng.choice((1, 1, 2, 5))):
        places = list(_places(document))
        holder, key = rng.choice(places)
        kind = rng.random()
        if kind < 0.75:
            holder[key] = deepcopy(rng.choice(VALUES))
        elif kind < 0.9:
            del holder[key]
        elif isinstance(holder, dict):
            holder["odd"] = deepcopy(rng.choice(VALUES))
        if not document:
            break
    try:
        return json.dumps(document).encode()
    except ValueError:  # a number of more digits than Python turns into text
        return seed


_ODD = (KeyError, TypeError, ValueError, RecursionError, AttributeError)
NAMES = ("../evil", "/tmp/evil", "..\\evil", "a/../../evil", "C:evil", "nul", ".", "..", "", "a\0b", "plan.toml",
         "PLAN.TOML", "contents.json", "results.json", "x" * 300, "a\u202eb", "folder/")


def _archive_damage(seed: bytes, rng: random.Random, other: bytes) -> bytes:
    """Damage, rename, leave out or add one file of an archive, mostly under a list that was made anew to fit."""
    with zipfile.ZipFile(io.BytesIO(seed)) as opened:
        entries = {name: opened.read(name) for name in opened.namelist()}
    name = rng.choice(list(entries))
    kind = rng.random()
    if kind < 0.6:
        entries[name] = mutated(entries[name], rng, rng.choice(list(entries.values())))
    elif kind < 0.8:
        entries[rng.choice(NAMES)] = entries.pop(name)
    elif kind < 0.9:
        del entries[name]
    else:
        entries[rng.choice(NAMES)] = bytes(rng.choice((0, 10, 3_000_000)))
    if rng.random() < 0.8:
        fit_list(entries)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as target:
        for each, content in entries.items():
            link = 0o120777 if rng.random() < 0.01 else 0o100644
            info = zipfile.ZipInfo(each)
            info.external_attr = link << 16
            target.writestr(info, content, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def fit_list(entries: dict[str, bytes]) -> None:
    """Put the files' digests into the list of contents, and those of plan and readings into the results."""
    digest = {name: hashlib.sha256(content).hexdigest() for name, content in entries.items()}
    with suppress(*_ODD, StopIteration):
        results = json.loads(entries["results.json"])
        for role in ("plan", "readings"):
            name = next(name for name in entries if name.startswith(role))
            results["provenance"][f"{role}_sha256"] = digest[name]
        entries["results.json"] = json.dumps(results).encode()
        digest["results.json"] = hashlib.sha256(entries["results.json"]).hexdigest()
    with suppress(*_ODD):
        contents = json.loads(entries["contents.json"])
        roles = {file["name"]: file["role"] for file in contents["files"]}
        contents["files"] = [{"name": name, "role": roles.get(name, "also"), "bytes": len(content),
                              "sha256": digest[name]} for name, content in entries.items() if name != "contents.json"]
        entries["contents.json"] = json.dumps(contents).encode()


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Yield every (container, key) inside a JSON value."""
    for key, inner in list(value.items() if isinstance(value, dict) else enumerate(value)):
        yield value, key
        if isinstance(inner, dict | list):
            yield from _places(inner)
