"""Where in the user's text a value of the plan stands."""

from __future__ import annotations

import numbers
from dataclasses import dataclass, field
from typing import Any

from antexp.plan.toml_lines import KeyPath

_SHOWN = 60  # characters of a value that a message repeats


@dataclass(frozen=True)
class Source:
    """A plan's text or mapping, as far as messages need it.

    Attributes
    ----------
    name : str
        The file, or ``"plan"``.
    lines : dict of tuple to int
        The line of each key, empty for a mapping.
    origins : dict of tuple to tuple
        For a key that `antexp.plan.long_form` moved: its path in the long form to its path in the text.
    names : dict of int to str
        The candidates' names by position, for messages.
    """

    name: str
    lines: dict[KeyPath, int] = field(default_factory=dict)
    origins: dict[KeyPath, KeyPath] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)

    def written(self, path: KeyPath) -> KeyPath:
        """Return the path in the text of a path in the long form."""
        for length in range(len(path), 0, -1):
            if path[:length] in self.origins:
                return self.origins[path[:length]] + path[length:]
        return path

    def line(self, path: KeyPath) -> int:
        """Return the line of a path in the long form, or of what it stands in; 0 where none is known."""
        written = self.written(path)
        return next((self.lines[written[:n]] for n in range(len(written), 0, -1) if written[:n] in self.lines), 0)

    def where(self, path: KeyPath) -> str:
        """Return file, line and key of a path in the long form."""
        line = self.line(path)
        written = self.written(path)
        key = ".".join(part for part in written if isinstance(part, str))
        place = [self.name] + ([f"line {line}"] if line else []) + ([f"key {shorten(key)}"] if key else [])
        if len(written) > 1 and written[0] == "candidates" and isinstance(written[1], int):
            name = self.names.get(written[1])
            place[-1] += f" of {show(name)}" if name else f" of number {written[1] + 1}"
        return ", ".join(place)


def show(value: Any) -> str:
    """Return a value as a message repeats it: as the plan would write it, and short."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in f'"{shorten(value)}"')
    if isinstance(value, dict):
        return "a table" if value else "an empty table"
    if isinstance(value, list | tuple):
        shown = "[" + ", ".join(show(item) for item in value[:6]) + (", …]" if len(value) > 6 else "]")
        return shown if len(shown) <= 2 * _SHOWN else f"a list of {len(value)}"
    if isinstance(value, numbers.Integral) and int(value).bit_length() > 64:
        return "a whole number beyond 64 bits"
    return shorten(str(value))


def shorten(text: str) -> str:
    """Return the text, cut where it is long."""
    return text if len(text) <= _SHOWN else f"{text[: _SHOWN - 1]}…"
