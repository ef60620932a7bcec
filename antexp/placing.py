"""How files take their place: written beside it first, then all renamed at once, or none."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path


class NotPutBackError(OSError):
    """A file could not take its place, and files before it could not get their old content back.

    Attributes
    ----------
    stuck : tuple of (Path, str)
        Each file that holds the new content now, and the file beside it that keeps the old one; "" where none was.
    """

    def __init__(self, error: OSError, stuck: list[tuple[Path, str]]) -> None:
        super().__init__(*error.args)
        self.filename2 = error.filename2
        self.stuck = tuple(stuck)


def put_in_place(waiting: list[tuple[str, Path]]) -> None:
    """Give the new files their names; when one cannot have it, those before it get their old content back."""
    if len(waiting) == 1:
        os.replace(*waiting[0])
        return
    before: list[tuple[Path, str]] = []
    stuck: list[tuple[Path, str]] = []
    placed = 0
    try:
        for temporary, target in waiting:
            old = f"{temporary.removesuffix('.part')}.old.part"
            before.append((target, old if _linked(target, old) else ""))
            os.replace(temporary, target)
            placed += 1
    except BaseException as error:
        # the refused one is the old one still, unless an interruption hid that it took its place: put back in any case
        stuck = [pair for number, pair in reversed(list(enumerate(before))) if not _put_back(*pair) and number < placed]
        if stuck and isinstance(error, OSError):
            raise NotPutBackError(error, stuck) from error
        raise
    finally:
        kept = {old for _, old in stuck}
        for _, old in before:
            if old and old not in kept:
                remove(old)


def _put_back(target: Path, old: str) -> bool:
    """Give a file its old content back, or take it away where there was none; tell whether that could be done."""
    try:
        os.replace(old, target) if old else target.unlink(missing_ok=True)
    except OSError:
        return False
    return True


def remove(name: str) -> None:
    """Remove a passing file, if it is there; a disk that is gone does not hide what went wrong before."""
    with contextlib.suppress(OSError):
        os.unlink(name)


def _linked(target: Path, name: str) -> bool:
    """Give a file a second name, so that its content is not lost; False where there is no such file."""
    try:
        os.link(target, name, follow_symlinks=False)
    except FileNotFoundError:
        return False
    except (OSError, NotImplementedError):  # a disk without second names: the content itself is kept
        if not target.exists():
            return False  # some systems say that they have none before they look for the file
        os.replace(write_beside(target, target.read_bytes()), name)
    return True


@contextlib.contextmanager
def turns(folders: Iterable[Path]) -> Iterator[None]:
    """Hold the folders while files in them are replaced; another process that asks for one of them waits."""
    try:
        import fcntl
    except ImportError:  # Windows has no locks on folders
        yield
        return
    handles: list[int] = []
    try:
        for folder in sorted(folders):  # always in this order: nobody waits for one who waits for him
            with contextlib.suppress(OSError):  # a network disk may have no locks
                handles.append(os.open(folder, os.O_RDONLY))
                fcntl.flock(handles[-1], fcntl.LOCK_EX)
        yield
    finally:
        for handle in handles:
            os.close(handle)


def write_beside(target: Path, content: str | bytes) -> str:
    """Write content to a fresh file in the target's folder, synced to disk, and return its name."""
    # the one text that UTF-8 cannot hold is from a file's name that is none: a question mark stands for it
    data = content.encode("utf-8", "replace") if isinstance(content, str) else content
    handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name[:40]}.", suffix=".part")
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o666 & ~_umask())
    except BaseException:
        remove(temporary)
        raise
    return temporary


def _umask() -> int:
    """Return the process's file mode mask (there is no way to read it without setting it)."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
