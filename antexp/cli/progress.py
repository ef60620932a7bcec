"""A bar on standard error for work that takes longer than a blink."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_bar(quiet: bool, first: str = "") -> Iterator[Callable[[float, str], None] | None]:
    """Give what shows the share done and what is being done; None when quiet or not on a terminal.

    Parameters
    ----------
    quiet : bool
        True where only data may be shown.
    first : str
        What stands beside the bar before anything is reported.

    Yields
    ------
    callable ``(share, what)`` or None
        The share runs from 0 to 1.
    """
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn()
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(first, total=1.0)
        yield lambda share, what: bar.update(task, completed=share, description=what)
