"""On which line of a TOML text each key stands, which the standard library's reader does not tell."""

from __future__ import annotations

import tomllib
from bisect import bisect_right
from contextlib import suppress

KeyPath = tuple[str | int, ...]
"""Keys and zero-based positions in lists, from the top of the document: ``("candidates", 1, "name")``."""

_QUOTES = ('"', "'")
_BLANK = " \t\r\n"


def key_lines(text: str) -> dict[KeyPath, int]:
    """Find the line of every key, table and list item in a TOML text.

    Parameters
    ----------
    text : str
        A text that `tomllib` has read without complaint.

    Returns
    -------
    dict of tuple to int
        Line numbers, the first line being 1.
    """
    scan = _Scan(text)
    with suppress(RecursionError):  # lists nested hundreds deep, which the plan's reader refuses anyway
        scan.document()
    return scan.lines


class _Scan:
    """One pass over the text; it trusts that the text is valid TOML."""

    def __init__(self, text: str) -> None:
        self.text = text + "\n"
        self.at = 0
        self.lines: dict[KeyPath, int] = {}
        self._starts = [0] + [index + 1 for index, letter in enumerate(text) if letter == "\n"]
        self._last_item: dict[KeyPath, int] = {}

    def document(self) -> None:
        """Go through headers and assignments to the end."""
        table: KeyPath = ()
        self._skip_blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self._header()
            else:
                self._assignment(table)
            self._skip_blank()

    def _header(self) -> KeyPath:
        """Read ``[table]`` or ``[[list of tables]]`` and return the path that its keys hang under."""
        is_list = self.text.startswith("[[", self.at)
        self.at += 2 if is_list else 1
        line = self._line()
        path: KeyPath = ()
        keys = self._key()
        for number, key in enumerate(keys):
            path += (key,)
            self.lines.setdefault(path, line)
            if is_list and number == len(keys) - 1:
                self._last_item[path] = self._last_item.get(path, -1) + 1
            if path in self._last_item:
                path += (self._last_item[path],)
                self.lines.setdefault(path, line)
        self.at = self.text.index("]", self.at) + (2 if is_list else 1)
        return path

    def _assignment(self, table: KeyPath) -> None:
        """Read ``key = value``."""
        line = self._line()
        path = table
        for key in self._key():
            path += (key,)
            self.lines.setdefault(path, line)
        self._skip_blank()
        self.at += 1  # the equals sign
        self._skip_blank()
        self._value(path)

    def _key(self) -> list[str]:
        """Read a bare, quoted or dotted key."""
        keys: list[str] = []
        while True:
            self._skip_blank()
            start = self.at
            if self.text[start] in _QUOTES:
                self._string()
                keys.append(tomllib.loads("key = " + self.text[start : self.at])["key"])
            else:
                while self.text[self.at] not in _BLANK + ".=]":
                    self.at += 1
                keys.append(self.text[start : self.at])
            self._skip_blank()
            if self.text[self.at] != ".":
                return keys
            self.at += 1

    def _value(self, path: KeyPath) -> None:
        """Step over a value, noting what stands inside it."""
        letter = self.text[self.at]
        if letter in _QUOTES:
            self._string()
        elif letter == "[":
            self._list(path)
        elif letter == "{":
            self._inline_table(path)
        else:
            while self.text[self.at] not in ",]}#\n":
                self.at += 1

    def _list(self, path: KeyPath) -> None:
        """Step over ``[a, b]``."""
        self.at += 1
        item = 0
        self._skip_blank()
        while self.text[self.at] != "]":
            self.lines[(*path, item)] = self._line()
            self._value((*path, item))
            item += 1
            self._skip_blank(",")
        self.at += 1

    def _inline_table(self, path: KeyPath) -> None:
        """Step over ``{ a = 1, b = 2 }``."""
        self.at += 1
        self._skip_blank()
        while self.text[self.at] != "}":
            self._assignment(path)
            self._skip_blank(",")
        self.at += 1

    def _string(self) -> None:
        """Step over a quoted text of one line or several."""
        quote = self.text[self.at]
        end = quote * 3 if self.text.startswith(quote * 3, self.at) else quote
        self.at += len(end)
        while not self.text.startswith(end, self.at):
            self.at += 2 if quote == '"' and self.text[self.at] == "\\" else 1
        self.at += len(end)
        while len(end) == 3 and self.text[self.at] == quote:  # up to two quotes may stand before the closing three
            self.at += 1

    def _skip_blank(self, also: str = "") -> None:
        """Step over blanks, line ends and comments."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                self.at = self.text.index("\n", self.at)
            elif self.text[self.at] in _BLANK or self.text[self.at] in also:
                self.at += 1
            else:
                return

    def _line(self) -> int:
        """Return the number of the line the scan stands on."""
        return bisect_right(self._starts, self.at)
