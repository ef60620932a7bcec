"""Three files written over three, and something that happens at the n-th line of the writing, n from 1 to the end.

Run by `test_interrupted_writing.py` in a process without threads of a library, so that it may split itself:
`python one_write.py ROOT FOLDER interrupt|kill`. Prints one JSON line a trial.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from pathlib import Path
from types import FrameType
from typing import Any

NAMES = ("a.csv", "b.json", "c.html")


def write(folder: Path) -> None:
    """Write the three files."""
    from antexp.files import write_all_whole

    write_all_whole({folder / name: f"new {name}" for name in NAMES})


def at_line(number: int, happen: Callable[[], object]) -> Callable[..., Any]:
    """Return a trace function that lets something happen before a line of antexp's writing."""
    left = [number]

    def trace(frame: FrameType, event: str, _: object) -> Callable[..., Any] | None:
        if Path(frame.f_code.co_filename).name not in ("files.py", "placing.py", "interrupts.py"):
            return None
        if event == "line":
            left[0] -= 1
            if not left[0]:
                happen()
        return trace

    return trace


def interrupted(folder: Path, number: int) -> str:
    """Write, and send Ctrl-C's signal before a line; say how it ended."""
    sys.settrace(at_line(number, lambda: signal.raise_signal(signal.SIGINT)))
    try:
        write(folder)
    except KeyboardInterrupt:
        return "stopped"
    finally:
        sys.settrace(None)
    return "written"


def killed(folder: Path, number: int) -> str:
    """Write in a child that ends at once before a line, as by a kill; say how it ended."""
    child = os.fork()
    if not child:
        sys.settrace(at_line(number, lambda: os._exit(9)))
        write(folder)
        os._exit(0)
    return "killed" if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) else "written"


def main(folder: Path, way: Callable[[Path, int], str]) -> None:
    """Try line by line until the writing ends by itself."""
    folder.mkdir(exist_ok=True)
    write(folder)  # everything that is imported late is there
    number, how = 0, ""
    while how != "written":
        number += 1
        shutil.rmtree(folder)
        folder.mkdir()
        for name in NAMES:
            (folder / name).write_text(f"old {name}")
        how = way(folder, number)
        found = {path.name: path.read_text() for path in folder.iterdir()}
        hidden = [name for name in found if name not in NAMES]
        files = {name: found.get(name, "") for name in NAMES}
        sys.stdout.write(json.dumps({"line": number, "how": how, "hidden": hidden, "files": files}) + "\n")


if __name__ == "__main__":
    sys.path.insert(0, sys.argv[1])
    os.fsync = lambda handle: None  # the machine goes on, only the process ends: the kernel loses nothing of it
    main(Path(sys.argv[2]), {"interrupt": interrupted, "kill": killed}[sys.argv[3]])
