"""What every answer in the terminal is made of: the answer on top, headings, points, notes, and the files written."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rich.console import Console
from rich.padding import Padding
from rich.text import Text

from antexp.notices import Notice

_INDENT = 2


def print_answer(text: str, console: Console | None, style: str = "bold") -> Console:
    """Print the one sentence that answers; return where the rest goes: standard output, unless told."""
    console = console or Console(highlight=False)
    console.print(Text(text, style=style))
    return console


def print_heading(console: Console, text: str, style: str = "bold") -> None:
    """Print a heading with air above it."""
    console.print()
    console.print(Text(text, style=style))


def print_points(console: Console, sentences: Iterable[str]) -> None:
    """Print sentences as a list."""
    print_indented(console, (f"• {sentence}" for sentence in sentences))


def print_indented(console: Console, sentences: Iterable[str], style: str = "", indent: int = _INDENT) -> None:
    """Print sentences one below the other, each set in as a whole."""
    for sentence in sentences:
        console.print(Padding(Text(sentence, style=style), (0, 0, 0, indent)))


def print_notes(console: Console, notices: Iterable[Notice]) -> None:
    """Print what to know beside the numbers."""
    print_indented(console, (f"Note: {notice.text}" for notice in notices))


def print_written(console: Console, files: Iterable[Path]) -> None:
    """Print where the files are; a path is never broken, so that it can be copied."""
    for path in files:
        console.print(f"Wrote {path}", soft_wrap=True)
