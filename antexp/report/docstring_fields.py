"""What a class says of its own fields: the *Attributes* section of its docstring, as the reference pages need it."""

from __future__ import annotations

import inspect
import re

_FIELD = re.compile(r"^(\w+(?:, \w+)*) : (.+)$")


def fields_of(described: type) -> dict[str, tuple[str, str]]:
    """Read a class's fields from its numpydoc docstring.

    Parameters
    ----------
    described : type
        A class whose docstring has an *Attributes* section.

    Returns
    -------
    dict of str to (str, str)
        The type as written, and the meaning in one line, by the field's name; names that share a line share both.
    """
    found: dict[str, tuple[str, str]] = {}
    names: list[str] = []
    for line in _attribute_lines(described):
        start = _FIELD.match(line)
        if start:
            names = start[1].split(", ")
            found |= dict.fromkeys(names, (start[2], ""))
        elif line.strip():
            for name in names:
                kind, meaning = found[name]
                found[name] = (kind, f"{meaning} {line.strip()}".strip())
    return found


def _attribute_lines(described: type) -> list[str]:
    """Return the lines of the *Attributes* section."""
    lines = (inspect.getdoc(described) or "").splitlines()
    if "Attributes" not in lines:
        return []
    lines = lines[lines.index("Attributes") + 2 :]
    end = next((i for i, line in enumerate(lines) if re.fullmatch(r"-{3,}", line)), len(lines) + 1)
    return lines[: end - 1]
