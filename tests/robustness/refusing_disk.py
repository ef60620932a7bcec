"""Disks that refuse: a limit of the kernel's, and answers put into the calls that change a folder.

The tests may run as root, who writes into read-only folders, and a disk that is really read-only or full takes rights
to mount. So the answers of such a disk are given where Python announces every such call, whoever makes it: by an audit
hook (PEP 578), which may refuse the call with an exception.
"""

from __future__ import annotations

import contextlib
import errno
import functools
import os
import resource
import stat
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from unittest import mock

_CHANGES = {"os.rename", "os.link", "os.symlink", "os.mkdir", "os.remove", "os.rmdir", "os.truncate", "os.chmod"}
_MAKES = {"os.link", "os.symlink", "os.mkdir"}
_watching: list[Callable[[str, tuple[Any, ...]], None]] = []


@functools.cache
def _install() -> None:
    sys.addaudithook(_hook)


def _hook(event: str, arguments: tuple[Any, ...]) -> None:
    for watch in _watching:
        watch(event, arguments)


@contextlib.contextmanager
def watched(watch: Callable[[str, tuple[Any, ...]], None]) -> Iterator[None]:
    """Call ``watch(event, arguments)`` at every call that Python announces; a hook cannot be taken away again."""
    _install()
    _watching.append(watch)
    try:
        yield
    finally:
        _watching.remove(watch)


def changed_paths(event: str, arguments: tuple[Any, ...]) -> list[Path]:
    """Return what a call is about to change, or to make."""
    if event == "open" and isinstance(arguments[0], str | bytes) and arguments[2] & (os.O_WRONLY | os.O_RDWR):
        return [Path(os.fsdecode(arguments[0])).absolute()]
    if event not in _CHANGES:
        return []
    named = arguments[:2] if event in ("os.rename", "os.link", "os.symlink") else arguments[:1]
    return [Path(os.fsdecode(name)).absolute() for name in named]


def _refusing(folder: Path, number: int, events: set[str]) -> contextlib.AbstractContextManager[None]:
    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if event in events:
            for path in changed_paths(event, arguments):
                if path.is_relative_to(folder):
                    raise OSError(number, os.strerror(number), str(path))

    return watched(watch)


def read_only(folder: Path) -> contextlib.AbstractContextManager[None]:
    """Refuse every change in a folder and below, as a disk does that is mounted read-only."""
    return _refusing(folder, errno.EROFS, {*_CHANGES, "open"})


def without_names(folder: Path) -> contextlib.AbstractContextManager[None]:
    """Refuse new files and folders, as a disk does whose directory is full."""
    return _refusing(folder, errno.ENOSPC, {*_MAKES, "open"})


def held(target: Path) -> contextlib.AbstractContextManager[None]:
    """Refuse to put anything in the place of one file, again and again, as where another program holds it."""
    def watch(event: str, arguments: tuple[Any, ...]) -> None:
        if event == "os.rename" and changed_paths(event, arguments)[1] == target:
            raise OSError(errno.EACCES, os.strerror(errno.EACCES), arguments[0], None, arguments[1])

    return watched(watch)


@contextlib.contextmanager
def without_room(bytes_left: int) -> Iterator[None]:
    """Let the kernel end every file at so many bytes."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    # a module that is imported meanwhile must not leave half of its compiled form
    with mock.patch.object(sys, "dont_write_bytecode", True):
        resource.setrlimit(resource.RLIMIT_FSIZE, (bytes_left, hard))
        try:
            yield
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextlib.contextmanager
def full_at(number: int) -> Iterator[list[int]]:
    """Tell that the disk is full when the content of the n-th file is to be made safe on it; give those that were."""
    real, safe = os.fsync, []

    def fsync(handle: int) -> None:
        if stat.S_ISREG(os.fstat(handle).st_mode):
            if len(safe) + 1 == number:
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            safe.append(handle)
        real(handle)

    with mock.patch.object(os, "fsync", fsync):
        yield safe
