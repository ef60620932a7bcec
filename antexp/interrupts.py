"""Ctrl-C at a moment when work must not be left half done."""

from __future__ import annotations

import contextlib
import signal
import threading
from collections.abc import Iterator
from types import FrameType


@contextlib.contextmanager
def interrupts_wait() -> Iterator[None]:
    """Let Ctrl-C take effect at the end of the block instead of in its middle; a second one does not wait.

    Notes
    -----
    Where signals cannot be caught (in another thread than the main one) or are ignored, nothing is changed.
    """
    handler = signal.getsignal(signal.SIGINT)
    if not callable(handler) or threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[tuple[int, FrameType | None]] = []

    def note(number: int, frame: FrameType | None) -> None:
        came.append((number, frame))
        if len(came) > 1:
            handler(number, frame)

    signal.signal(signal.SIGINT, note)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, handler)
        if came:
            handler(*came[0])
