"""How single values of a plan are checked: numbers with a range and a unit, words, lines of text, impedances.

Each function returns a validator for a field of the plan's models. A refusal carries what is wrong, what is
allowed and what to do; `antexp.plan.faults` adds the file, the line and the key.
"""

from __future__ import annotations

import math
import numbers
import re
import unicodedata
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

from pydantic import PlainValidator
from pydantic_core import PydanticCustomError

from antexp.plan.nearest import nearest
from antexp.plan.sittings import Sitting, clash, parse_sitting
from antexp.spreadsheet import is_formula

LONGEST_NAME = 120
MOST_SITTINGS = 100
_INVISIBLE = {"Cc", "Cf", "Cs", "Zl", "Zp"}  # Unicode categories that print nothing or break the line
_DECIMAL_COMMA = re.compile(r"\s*[+-]?\d+,\d+\s*", re.ASCII)


def refuse(problem: str, allowed: str = "", do: str = "") -> PydanticCustomError:
    """Return the error that says a value is at fault (`faults.translate` turns it into a Fault)."""
    return PydanticCustomError("at_fault", "{problem}", {"problem": problem, "allowed": allowed, "do": do})


def number(low: float, high: float, unit: str = "", *, above: bool = False,
           guess: Callable[[float], str] | None = None) -> PlainValidator:
    """Return a validator for a finite number between two limits.

    Parameters
    ----------
    low, high : float
        The limits, themselves allowed.
    unit : str
        The unit, for the message.
    above : bool
        Whether the lower limit itself is refused.
    guess : callable, optional
        Takes a number that is out of range and returns what may have been meant, or an empty string.
    """
    allowed = f"a number {'above' if above else 'from'} {low:g} {'up ' if above else ''}to {high:g}"
    allowed = f"{allowed}, in {unit}" if unit else allowed

    def check(value: Any) -> float:
        given = _real(value, allowed)
        if low <= given <= high and not (above and given == low):
            return given
        raise refuse("is out of range", allowed, guess(given) if guess else "")

    return PlainValidator(check)


def whole(low: int, high: int, do: str = "") -> PlainValidator:
    """Return a validator for a whole number between two limits, both allowed."""
    return PlainValidator(lambda value: _whole(value, low, high, do))


def whole_list(low: int, high: int) -> PlainValidator:
    """Return a validator for a list of whole numbers that rise, as a tuple."""
    allowed = f"a list of rising whole numbers from {low} to {high}"

    def check(value: Any) -> tuple[int, ...]:
        if not isinstance(value, list | tuple):
            raise refuse("is not a list", allowed, "Put it in square brackets.")
        items = tuple(_whole(item, low, high, allowed_is=allowed) for item in value)
        if any(later <= earlier for earlier, later in pairwise(items)):
            raise refuse("does not rise", allowed)
        return items

    return PlainValidator(check)


def word(words: Sequence[str]) -> PlainValidator:
    """Return a validator for one of a few words."""
    allowed = ", ".join(f'"{each}"' for each in words)

    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise refuse("is not text", allowed)
        if value in words:
            return value
        near = nearest(value, words)
        raise refuse("is not a word I know", allowed, f'Did you mean "{near}"?' if near else "")

    return PlainValidator(check)


def line_of_text(longest: int = 200, *, label: bool = False) -> PlainValidator:
    """Return a validator for one line of visible text; a label must survive a spreadsheet unchanged."""
    allowed = f"one line of 1 to {longest} visible characters"

    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise refuse("is not text", allowed, "Put it in quotes.")
        if not value.strip():
            raise refuse("is empty", allowed)
        if len(value) > longest:
            raise refuse(f"is {len(value)} characters long", allowed)
        hidden = [letter for letter in value if unicodedata.category(letter) in _INVISIBLE]
        if hidden:
            raise refuse(f"has the invisible character U+{ord(hidden[0]):04X}", allowed, "Take it out.")
        if label and value != value.strip():
            raise refuse("has blanks at its beginning or end", allowed, "Take them off.")
        if label and is_formula(value):
            sign = value.lstrip("' ")[0]
            raise refuse(f"begins with {sign}" if sign in "=+-@＝＋－＠" else "has a semicolon before a sign",
                         "a name that a spreadsheet does not take for a formula", "Put a letter or digit first.")
        return value

    return PlainValidator(check)


def yes_or_no() -> PlainValidator:
    """Return a validator for true or false."""

    def check(value: Any) -> bool:
        if isinstance(value, bool):
            return value
        raise refuse("is neither true nor false", "true, false (without quotes)")

    return PlainValidator(check)


def impedance() -> PlainValidator:
    """Return a validator for a complex impedance in ohms: ``"62+9j"``, ``"62+j9"`` or a plain resistance."""
    allowed = 'an impedance in ohms such as "62+9j", its resistance above 0'

    def check(value: Any) -> complex:
        if isinstance(value, str):
            given = _complex(value, allowed)
        elif isinstance(value, numbers.Complex) and not isinstance(value, bool | numbers.Real):
            given = complex(value)
        else:
            given = complex(_real(value, allowed))
        if not (math.isfinite(given.real) and math.isfinite(given.imag)) or abs(given) > 1e6:
            raise refuse("is out of range", allowed)
        if given.real <= 0:
            raise refuse("has no resistance above 0", allowed)
        return given

    return PlainValidator(check)


def sitting_list() -> PlainValidator:
    """Return a validator for a list of sittings, in time order and apart from one another."""
    allowed = 'a list such as ["09:30-12:15", "13:15-16:00"], in time order'

    def check(value: Any) -> tuple[Sitting, ...]:
        if not isinstance(value, list | tuple) or not 1 <= len(value) <= MOST_SITTINGS:
            raise refuse(f"is not a list of 1 to {MOST_SITTINGS} sittings", allowed)
        sittings = []
        for item in value:
            sitting = item if isinstance(item, Sitting) else (
                parse_sitting(item) if isinstance(item, str) else "is not text")
            if isinstance(sitting, str):
                raise refuse(f"has a sitting that {sitting}: {item!r:.40}", allowed)
            sittings.append(sitting)
        wrong = clash(sittings)
        if wrong:
            raise refuse(f"has a sitting, {sittings[wrong[0]]}, that {wrong[1]}", allowed)
        return tuple(sittings)

    return PlainValidator(check)


def _real(value: Any, allowed: str) -> float:
    """Return a finite float, or refuse with the likely cause."""
    if isinstance(value, str):
        if _DECIMAL_COMMA.fullmatch(value):
            raise refuse("is text where a number belongs", allowed,
                         f"Write {value.strip().replace(',', '.')}, with a point and without quotes.")
        try:
            float(value)
        except ValueError:
            raise refuse("is text where a number belongs", allowed) from None
        raise refuse("is text where a number belongs", allowed, "Take the quotes off.")
    if isinstance(value, bool) or not isinstance(value, numbers.Real):
        raise refuse("is not a number", allowed)
    try:
        given = float(value)
    except OverflowError:
        raise refuse("is out of range", allowed) from None
    if not math.isfinite(given):
        raise refuse("is not a finite number", allowed)
    return given


def _whole(value: Any, low: int, high: int, do: str = "", allowed_is: str = "") -> int:
    """Return a whole number within its limits, or refuse."""
    allowed = allowed_is or f"a whole number from {low} to {high}"
    _real(value, allowed)
    if not isinstance(value, numbers.Integral):
        raise refuse("is not a whole number", allowed, "Take the decimals off." if value == int(value) else "")
    if not low <= int(value) <= high:
        raise refuse("is out of range", allowed, do)
    return int(value)


def _complex(text: str, allowed: str) -> complex:
    """Read ``62+9j``, ``62 + j9``, ``62-i9`` or ``62``; a sign or a j out of place is refused."""
    bare = "".join(text.split()).replace("−", "-").lower().replace("i", "j")
    plain = r"\d+(?:\.\d*)?(?:e[+-]?\d+)?"
    found = re.fullmatch(rf"([+-]?{plain})?(?:([+-]?)(?:j({plain})|({plain})j))?", bare, re.ASCII)
    if not bare or not found or (found[1] and (found[3] or found[4]) and not found[2]):
        hint = "Write a decimal point, not a comma." if "," in bare else ""
        raise refuse("is not an impedance", allowed, hint)
    reactance = float((found[2] or "") + (found[3] or found[4] or "0"))
    return complex(float(found[1] or 0), reactance)
