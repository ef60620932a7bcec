"""One file that keeps a whole experiment, opens again, and judges to the same bytes."""

from __future__ import annotations

import hashlib
import io
import json
import os
import zipfile
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from antexp import __version__
from antexp.analysis.archive_safety import MANIFEST, name_faults, read_members
from antexp.analysis.judged_folder import JudgedFiles, differing_keys, find_judged, judge_again
from antexp.analysis.results_file import RESULTS_NAME, results_document
from antexp.errors import Fault, FileError, JudgementError
from antexp.files import make_folder, read_raw, write_all_whole, write_whole

FORMAT = "antexp archive 1"
_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time that a ZIP file can hold: the archive tells content, not when
_BESIDE = ("report.html", "choice.html", "club-page.html", "slide.html", "newsletter.txt", "methods.txt", "truth.csv",
           "gaps.csv", "gap-budget.csv")
_PICTURES = (".svg", ".png")


@dataclass(frozen=True)
class KeptFile:
    """One file of an archive.

    Attributes
    ----------
    name : str
    role : str
        ``plan``, ``readings``, ``order``, ``bench book``, ``results``, ``report``, ``picture``, ``look log``, ``also``.
    bytes : int
    sha256 : str
    """

    name: str
    role: str
    bytes: int
    sha256: str


@dataclass(frozen=True)
class Kept:
    """An archive that was written or opened.

    Attributes
    ----------
    path : Path
        The archive, or the folder it was opened into.
    files : tuple of KeptFile
        Name, role, length in bytes and digest of each.
    sha256 : str
        Digest of the archive.
    same_bytes : bool
        Whether its readings judge to its results, byte for byte.
    why : str
        Where they do not: what differs, and which versions judged.
    """

    path: Path
    files: tuple[KeptFile, ...]
    sha256: str
    same_bytes: bool
    why: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Return the document of ``keep`` and ``open``."""
        return {"path": str(self.path), "sha256": self.sha256, "same_bytes": self.same_bytes, "why": self.why,
                "files": [dict(file.__dict__) for file in self.files]}


def keep(folder: str | os.PathLike[str], archive: str | os.PathLike[str], *,
         plan: str | os.PathLike[str] | None = None, readings: str | os.PathLike[str] | None = None,
         order: str | os.PathLike[str] | None = None, bench: str | os.PathLike[str] | None = None,
         also: tuple[str | os.PathLike[str], ...] = ()) -> Kept:
    """Keep a judged experiment in one file.

    Parameters
    ----------
    folder : path-like
        The folder that ``judge -o`` wrote to.
    archive : path-like
        The file to write; it overwrites nothing.
    plan, readings, order, bench : path-like, optional
        Where they stand elsewhere than in the folder.
    also : tuple of path-like
        Further files to keep: photographs, the hanging end's file.

    Raises
    ------
    FileError, JudgementError
        When a file is missing, or the readings do not judge to these results; nothing is written.
    """
    if os.path.lexists(archive):
        raise FileError(Fault("there is something of that name already, and an archive overwrites nothing",
                              str(archive), do="Choose another name with -o."))
    files = find_judged(folder, plan=plan, readings=readings, order=order, bench=bench)
    _check_complete(files)
    again = judge_again(files)
    if again is None or again[1] != files.results:
        raise JudgementError(Fault("these files do not judge to these results", str(files.folder / RESULTS_NAME),
                                   _difference(files, again), do="Judge them again with antexp judge … -o into this "
                                   "folder, then keep it; name an order or bench book that stands elsewhere."))
    contents, kept = _collect(again[0], files, also)
    data = _packed(contents, kept, again[0])
    write_whole(archive, data)
    return Kept(Path(archive), tuple(kept), hashlib.sha256(data).hexdigest(), True)


def open_archive(archive: str | os.PathLike[str], folder: str | os.PathLike[str]) -> Kept:
    """Open an archive into a folder, check every digest, and judge its readings again.

    Parameters
    ----------
    archive : path-like
    folder : path-like
        A new or empty folder.

    Returns
    -------
    Kept
        `same_bytes` tells whether the judgement came out the same; with other versions of the libraries that compute,
        last digits may differ.

    Raises
    ------
    FileError
        When it is no archive of antexp, is damaged, would write outside of the folder or unpack to too much, or the
        folder is not empty; then nothing is written.
    """
    place = Path(folder)
    if os.path.lexists(place) and (not place.is_dir() or any(place.iterdir())):
        raise FileError(Fault("an archive is opened into a new or empty folder", str(folder),
                              do="Choose another with -o."))
    members, raw = read_members(archive)
    manifest = _manifest(members.pop(MANIFEST, None), members, str(archive))
    make_folder(place)
    write_all_whole({place / name: content for name, content in members.items()})
    kept = tuple(KeptFile(**entry) for entry in manifest["files"])
    by_role = {file.role: place / file.name for file in kept}
    files = find_judged(place, above=False, **{name: by_role.get(role) for name, role in (
        ("plan", "plan"), ("readings", "readings"), ("order", "order"), ("bench", "bench book"))})
    again = judge_again(files)
    same = again is not None and again[1] == files.results
    return Kept(place, kept, hashlib.sha256(raw).hexdigest(), same, "" if same else _difference(files, again))


def _check_complete(files: JudgedFiles) -> None:
    """Refuse to keep an experiment without what it was judged from."""
    faults = []
    provenance = files.document["provenance"]
    order = next(iter(files.orders), None)
    for path, key, what, option in ((files.plan, "plan_sha256", "plan", "--plan"),
                                    (files.readings, "readings_sha256", "readings file", "--readings"),
                                    (order, "order_sha256", "order file", "--order"),
                                    (files.bench, "bench_sha256", "bench book", "--bench")):
        digest = provenance.get(key)
        if path is None and digest:
            faults.append(Fault(f"the {what} that was judged is neither in the folder nor above it", str(files.folder),
                                f"none with digest {digest[:12]}…", do=f"Name it with {option}."))
    if faults:
        raise JudgementError(faults)


def _difference(files: JudgedFiles, again: tuple[JudgedFiles, bytes] | None) -> str:
    """Say what differs between the results and those of judging again, and with which versions they were made."""
    if again is None:
        return "judging was not possible"
    other = json.loads(again[1])
    keys = [key for key in differing_keys(files.document, other) if key != "provenance"]
    then, now = (_versions(document["provenance"]) for document in (files.document, other))
    moved = [f"{name} {then.get(name)} then, {now[name]} now" for name in now if then.get(name) != now[name]]
    return "; ".join([f"they differ in {', '.join(keys) or 'provenance'}", *moved])


def _versions(provenance: dict[str, Any]) -> dict[str, Any]:
    """Return with what a results file was made; one that was tampered with may hold anything there."""
    libraries = provenance.get("libraries")
    return {"antexp": provenance.get("antexp"), **(libraries if isinstance(libraries, dict) else {})}


def _collect(used: JudgedFiles, found: JudgedFiles, also: tuple[str | os.PathLike[str], ...]
             ) -> tuple[dict[str, bytes], list[KeptFile]]:
    """Read everything that goes into the archive; all faults of names at once."""
    assert used.readings is not None
    wanted: list[tuple[Path, str]] = [(used.folder / RESULTS_NAME, "results"), (used.readings, "readings")]
    wanted += [(path, role) for path, role in ((used.plan, "plan"), (used.bench, "bench book")) if path is not None]
    wanted += [(path, "order") for path in used.orders]
    taken = (*used.orders, used.bench)
    wanted += [(path, "also") for path in (*found.orders, found.bench) if path is not None and path not in taken]
    wanted += [(order.with_suffix(end), "also") for order in found.orders
               for end in (".reading-end.csv", ".json", ".svg", ".png")]
    wanted.append((used.readings.with_name(f"{used.readings.stem}.looks.json"), "look log"))
    wanted += [(used.folder / name, "report") for name in _BESIDE]
    wanted += [(path, "picture") for path in sorted(used.folder.iterdir()) if path.suffix in _PICTURES]
    there = {path.resolve(): (path, role) for path, role in reversed(wanted) if path.is_file()}
    there |= {Path(path).resolve(): (Path(path), "also") for path in also if Path(path).resolve() not in there}
    contents: dict[str, bytes] = {}
    kept, faults = [], []
    for path, role in sorted(there.values(), key=lambda pair: pair[0].name):
        data = used.results if role == "results" else read_raw(path, "file to keep")
        faults += name_faults(path.name, contents)
        contents[path.name] = data
        kept.append(KeptFile(path.name, role, len(data), hashlib.sha256(data).hexdigest()))
    if faults:
        raise FileError(faults)
    return contents, kept


def _packed(contents: dict[str, bytes], kept: list[KeptFile], used: JudgedFiles) -> bytes:
    """Return the archive's bytes, the same for the same contents."""
    manifest = {"format": FORMAT, "antexp": __version__, "title": used.document.get("title"),
                "files": [dict(file.__dict__) for file in kept]}
    text = json.dumps(manifest, ensure_ascii=False, indent=1) + "\n"
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, data in ((MANIFEST, text.encode("utf-8")), *contents.items()):
            info = zipfile.ZipInfo(name, _EPOCH)
            info.compress_type, info.create_system, info.external_attr = zipfile.ZIP_DEFLATED, 3, 0o100644 << 16
            archive.writestr(info, data, compresslevel=9)
    return stream.getvalue()


def _manifest(raw: bytes | None, members: dict[str, bytes], name: str) -> dict[str, Any]:
    """Check the list of contents against what is there."""
    try:
        manifest = json.loads(raw or b"")
        listed = {str(entry["name"]): KeptFile(**entry) for entry in manifest["files"]}
        known = manifest["format"] == FORMAT and RESULTS_NAME in listed and all(
            isinstance(text, str) for file in listed.values() for text in (file.name, file.role, file.sha256))
    except (ValueError, TypeError, KeyError, RecursionError):
        known, listed = False, {}
    if not known:
        raise FileError(Fault("this is not an archive that antexp keep wrote", name, do="Is it the right file?"))
    faults = [Fault("the archive lacks a file that its list names", name, entry)
              for entry in sorted(set(listed) - set(members))]
    faults += [Fault("the archive holds a file that its list does not name", name, entry)
               for entry in sorted(set(members) - set(listed))]
    faults += [Fault("a file of the archive is not as it was kept", name, entry,
                     do="Its digest differs; take another copy.")
               for entry in sorted(set(members) & set(listed))
               if hashlib.sha256(members[entry]).hexdigest() != listed[entry].sha256]
    faults = faults or _stranger_faults(listed, members, name)
    if faults:
        raise FileError(faults)
    return dict(manifest)


def _stranger_faults(listed: dict[str, KeptFile], members: dict[str, bytes], name: str) -> list[Fault]:
    """Name a file of the archive that its own results were not judged from, as far as they have digests."""
    provenance = results_document(members[RESULTS_NAME], f"{name}, {RESULTS_NAME}")["provenance"]
    judged = {"plan": provenance.get("plan_sha256"), "readings": provenance.get("readings_sha256")}
    judged |= {role: provenance[key] for role, key in (("order", "order_sha256"), ("bench book", "bench_sha256"))
               if provenance.get(key)}
    return [Fault(f"the {file.role} of the archive are not those of its results", name, file.name)
            for file in listed.values() if file.role in judged and file.sha256 != judged[file.role]]
