"""Reading text with clear faults, and writing files whole or not at all."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import BinaryIO

from antexp.errors import Fault, FileError
from antexp.interrupts import interrupts_wait
from antexp.placing import NotPutBackError, put_in_place, remove, turns, write_beside

LARGEST_FILE = 512 * 2**20
"""Bytes of the largest file that is read as a whole; what is smaller by nature has a limit of its own."""

_CONTROL = re.compile(r"[\x01-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")
_UNWRITABLE = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff]")


def read_text(path: str | os.PathLike[str], what: str) -> str:
    r"""Read a UTF-8 text file; a byte-order mark and any line ends are accepted.

    Parameters
    ----------
    path : path-like
        The file.
    what : str
        What the file is to the user, for the message: ``"plan"``, ``"readings file"``.

    Returns
    -------
    str
        The text with ``\n`` line ends and without a byte-order mark.

    Raises
    ------
    FileError
        When the file is missing, a directory, unreadable, empty or not UTF-8.
    """
    return decode_text(read_raw(path, what), path, what)


def read_raw(path: str | os.PathLike[str], what: str, max_bytes: int = LARGEST_FILE) -> bytes:
    """Read a file's bytes, with the same clear faults as `read_text`.

    Parameters
    ----------
    path : path-like
        The file.
    what : str
        What the file is to the user.
    max_bytes : int, optional
        The largest size that is believed.

    Raises
    ------
    FileError
        When the file is missing, a directory, unreadable or larger than ``max_bytes``.
    """
    try:
        with open(path, "rb") as stream:
            raw = _read_up_to(stream, max_bytes + 1)
    except FileNotFoundError:
        raise FileError(Fault(f"there is no such {what}", str(path), do="Check the name and the folder.")) from None
    except IsADirectoryError:
        raise FileError(Fault(f"a folder stands where the {what} belongs", str(path),
                              do="Name the file inside it.")) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise FileError(Fault(f"the {what} cannot be read", str(path), reason)) from None
    if len(raw) > max_bytes:
        raise FileError(Fault(f"the {what} is too large", str(path), f"more than {max_bytes // 2**20} MiB",
                              f"up to {max_bytes // 2**20} MiB", "Is this the right file?"))
    return raw


def _read_up_to(stream: BinaryIO, limit: int) -> bytes:
    """Read a stream to its end or to the limit, holding no more than it has."""
    pieces, left = [], limit
    while left and (piece := stream.read(min(left, 2**20))):
        pieces.append(piece)
        left -= len(piece)
    return b"".join(pieces)


def decode_text(raw: bytes, path: str | os.PathLike[str], what: str) -> str:
    r"""Return bytes as text with ``\n`` line ends and without a byte-order mark.

    Parameters
    ----------
    raw : bytes
        A file's content.
    path : path-like
        The file, for the message.
    what : str
        What the file is to the user.

    Raises
    ------
    FileError
        When the bytes are not UTF-8, hold nothing, or hold control characters besides tab and line ends (NUL is left
        to the reader, which can say more of it).
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise FileError(Fault(f"the {what} is not UTF-8 text", f"{path}, line {line}",
                              f"byte 0x{raw[error.start]:02x}", "UTF-8",
                              "Save it again as UTF-8 (a spreadsheet calls it CSV UTF-8).")) from None
    if not text.strip():
        raise FileError(Fault(f"the {what} is empty", str(path)))
    hidden = _CONTROL.search(text)
    if hidden:
        line = text.count("\n", 0, hidden.start()) + 1
        raise FileError(Fault(f"the {what} holds control characters", f"{path}, line {line}",
                              f"U+{ord(hidden[0]):04X}", do="They could steer a terminal: take them out."))
    return text.replace("\r\n", "\n").replace("\r", "\n")


def has_unwritable(document: object) -> bool:
    """Tell whether a JSON document has text with control characters, or half of a surrogate pair, in it."""
    left = [document]
    while left:
        value = left.pop()
        if isinstance(value, str) and _UNWRITABLE.search(value):
            return True
        left += [*value, *value.values()] if isinstance(value, dict) else value if isinstance(value, list) else []
    return False


def write_whole(path: str | os.PathLike[str], content: str | bytes) -> None:
    r"""Write one file whole: its old content stays until the new one is complete on disk.

    Parameters
    ----------
    path : path-like
        Where to; its folder must exist.
    content : str or bytes
        Text is written as UTF-8 with ``\n`` line ends.

    Raises
    ------
    FileError
        When the folder is missing or read-only, the disk is full, or a directory stands there.
    """
    write_all_whole({path: content})


def write_all_whole(contents: Mapping[str | os.PathLike[str], str | bytes]) -> None:
    """Write several files that belong together: all are complete on disk before the first takes its place.

    Parameters
    ----------
    contents : mapping of path-like to str or bytes
        The files and what goes into them.

    Raises
    ------
    FileError
        As `write_whole`; then the files are as they were.

    Notes
    -----
    Processes that write into the same folder take turns, so that what stands there in the end is all of one of them;
    where the system has no locks on folders (Windows, some network disks) they do not. Ctrl-C takes effect before or
    after, not in between.
    """
    with interrupts_wait():
        _write_all(contents)


def _write_all(contents: Mapping[str | os.PathLike[str], str | bytes]) -> None:
    """Write all files beside their places, then put them there."""
    waiting: list[tuple[str, Path]] = []
    target = Path()
    try:
        for path, content in contents.items():
            target = Path(path)
            if target.is_dir():
                raise FileError(Fault("a folder stands where a file is to be written", str(path),
                                      do="Name a file, or move the folder."))
            waiting.append((write_beside(target, content), target))
        with turns({target.parent for _, target in waiting}):
            put_in_place(waiting)
    except OSError as error:
        where = str(error.filename2 or target)  # a rename names its target
        raise FileError(Fault("the file cannot be written", where, error.strerror or str(error),
                              do=_what_now(error))) from None
    finally:
        for temporary, _ in waiting:
            remove(temporary)


def _what_now(error: OSError) -> str:
    """Say what became of the old files, and what to do."""
    if not isinstance(error, NotPutBackError):
        return "Nothing was changed. Choose another folder."
    held = "; ".join(f"{path} is new" + (f", its old content is kept in {old}" if old else "")
                     for path, old in error.stuck)
    return f"Files that were new already could not be put back: {held}. Rename what is kept, or write again elsewhere."


def write_folder(folder: str | os.PathLike[str], contents: Mapping[str, str | bytes]) -> tuple[Path, ...]:
    """Write files by their names into a folder, made when missing, all or none; return them in the order given.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    target = make_folder(folder)
    write_all_whole({target / name: content for name, content in contents.items()})
    return tuple(target / name for name in contents)


def make_folder(path: str | os.PathLike[str]) -> Path:
    """Make a folder, and those above it, where they are missing.

    Raises
    ------
    FileError
        When a file stands there or the place is read-only.
    """
    folder = Path(path)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(Fault("the folder cannot be made", str(path), error.strerror or str(error),
                              do="Choose another folder.")) from None
    return folder
