"""Reading an archive from anybody: nothing outside of the folder, nothing without end, nothing half."""

from __future__ import annotations

import io
import os
import re
import stat
import unicodedata
import zipfile
import zlib
from collections.abc import Iterable

from antexp.errors import Fault, FileError
from antexp.files import read_raw

MANIFEST = "contents.json"
"""The list of what is in an archive."""

MOST_FILES = 300
LARGEST_ARCHIVE = 128 * 2**20
LARGEST_CONTENT = 256 * 2**20
"""What is believed: files, bytes of the archive, bytes of all contents together."""

_LONGEST_NAME = 120
_FORBIDDEN = re.compile(r'[/\\:*?"<>|]')
_DEVICES = re.compile(r"(?:con|prn|aux|nul|com\d|lpt\d)(?:\..*)?", re.IGNORECASE)
_INVISIBLE = {"Cc", "Cf", "Cs", "Zl", "Zp"}


def name_faults(name: str, taken: Iterable[str] = ()) -> list[Fault]:
    """Say what is wrong with a file's name inside an archive: it must be a plain name on every kind of disk.

    Parameters
    ----------
    name : str
    taken : iterable of str
        Names that are used already.
    """
    shown = "".join(letter if letter.isprintable() else "?" for letter in name[:80])
    wrong = (
        not name or len(name) > _LONGEST_NAME or len(name.encode("utf-8", "replace")) > 250
        or _FORBIDDEN.search(name) or name.startswith(".") or name != name.strip() or name.endswith(".")
        or _DEVICES.fullmatch(name) or any(unicodedata.category(letter) in _INVISIBLE for letter in name)
    )
    if wrong:
        return [Fault("a file of an archive has a name that is not plain", got=repr(shown),
                      allowed="a name without folder, colon, quotes, wildcards or dot at its beginning")]
    if name.casefold() in {other.casefold() for other in taken} or name.casefold() == MANIFEST.casefold():
        return [Fault("two files of an archive have the same name", got=repr(shown), do="Rename one of them.")]
    return []


def read_members(archive: str | os.PathLike[str]) -> tuple[dict[str, bytes], bytes]:
    """Read an archive whole, without trusting it.

    Returns
    -------
    members : dict of str to bytes
    raw : bytes
        The archive itself.

    Raises
    ------
    FileError
        When it is damaged, is encrypted, holds links, folders or names that are not plain, or unpacks to more than is
        believed; nothing was unpacked to disk.
    """
    raw = read_raw(archive, "archive", LARGEST_ARCHIVE)
    name = str(archive)
    try:
        with zipfile.ZipFile(io.BytesIO(raw)) as opened:
            infos = opened.infolist()
            faults = _faults(infos, name)
            if faults:
                raise FileError(faults[:20])
            return {info.filename: _content(opened, info, name) for info in infos}, raw
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OSError) as error:
        if isinstance(error, FileError):
            raise
        raise FileError(Fault("the archive is damaged or is none", name, str(error)[:80],
                              do="Take another copy of it.")) from None


def _faults(infos: list[zipfile.ZipInfo], name: str) -> list[Fault]:
    """Return what speaks against unpacking, by the archive's own directory."""
    if len(infos) > MOST_FILES:
        return [Fault("the archive holds too many files", name, str(len(infos)), f"up to {MOST_FILES}")]
    total = sum(info.file_size for info in infos)
    if total > LARGEST_CONTENT:
        return [Fault("the archive unpacks to too much", name, f"{total // 2**20} MiB",
                      f"up to {LARGEST_CONTENT // 2**20} MiB")]
    faults: list[Fault] = []
    seen: list[str] = []
    for info in infos:
        if info.filename != MANIFEST or MANIFEST in seen:
            faults += name_faults(info.filename, seen)
        seen.append(info.filename)
        kind = stat.S_IFMT(info.external_attr >> 16)
        if kind not in (0, stat.S_IFREG) or info.filename.endswith("/"):
            faults.append(Fault("the archive holds something that is not a plain file", name, repr(info.filename[:80])))
        if info.flag_bits & 0x1 or info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            faults.append(Fault("the archive is packed in a way that antexp does not use", name,
                                repr(info.filename[:80])))
    return faults


def _content(opened: zipfile.ZipFile, info: zipfile.ZipInfo, name: str) -> bytes:
    """Read one file, never more than the directory says."""
    with opened.open(info) as stream:
        data = stream.read(info.file_size + 1)
    if len(data) != info.file_size:
        raise FileError(Fault("a file of the archive is not as long as its directory says", name,
                              repr(info.filename[:80])))
    return data
