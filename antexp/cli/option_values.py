"""A value of an option that cannot be used, said as every other fault of the input is."""

from __future__ import annotations

from typing import Any

import typer

from antexp.errors import Fault, InputError

_KINDS = {"integer": "a whole number, such as 3", "number": "a number with a point, such as 0.5",
          "float": "a number with a point, such as 0.5"}


def in_our_words(error: typer.BadParameter, words: list[str]) -> InputError | typer.BadParameter:
    """Return a fault for a number that is none; everything else as the library says it.

    Parameters
    ----------
    error : typer.BadParameter
        What the library found.
    words : list of str
        The words of the command, which tell what was given.
    """
    kind = next((meaning for word, meaning in _KINDS.items() if word in error.message), None)
    param: Any = error.param
    if kind is None or param is None:
        return error
    is_option = param.opts[0].startswith("-")
    given = _given(param, words) if is_option else _first(words)
    do = f"Write {given.replace(',', '.')}." if _is_comma_decimal(given) else ""
    return InputError(Fault("not a number", param.opts[0] if is_option else str(param.metavar or param.name.upper()),
                            repr(given) if given else "", kind, do))


def _given(param: Any, words: list[str]) -> str:
    """Return what stands behind an option; empty where that cannot be told."""
    for place, word in enumerate(words):
        option, sign, value = word.partition("=")
        if option in param.opts:
            return value if sign else " ".join(words[place + 1:place + 1 + param.nargs])
    return ""


def _first(words: list[str]) -> str:
    """Return the first word where it is no option: what stands for the argument; empty where options come first."""
    return words[0] if words and not words[0].startswith("-") else ""


def _is_comma_decimal(text: str) -> bool:
    """Return whether a point instead of the comma would make it a number."""
    whole, comma, part = text.partition(",")
    return bool(comma) and whole.lstrip("+-").isdigit() and part.isdigit()
