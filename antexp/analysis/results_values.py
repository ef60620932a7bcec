"""Values of a results file as the kinds they must be; what does not fit raises TypeError or ValueError."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

LARGEST, LARGEST_DB = 1e12, 1e4
"""No number of a judgement, and no decibel, is beyond these."""


def number(value: Any) -> float:
    """Return a number; null is NaN."""
    return float("nan") if value is None else within(value, -LARGEST, LARGEST)


def within(value: Any, low: float, high: float) -> float:
    """Return a number between two ends; whatever else it is, raises."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not low <= value <= high:
        raise ValueError(f"{str(value)[:40]} is not a number from {low:g} to {high:g}")
    return float(value)


def count(value: Any) -> int:
    """Return a whole number from 0; results of earlier versions have it as 3.0."""
    if not isinstance(value, int) and not (isinstance(value, float) and value.is_integer()):
        raise TypeError(f"{str(value)[:40]} is not a whole number")
    return int(within(value, 0, LARGEST))


def text(value: Any, allowed: tuple[str, ...] = ()) -> str:
    """Return text."""
    if not isinstance(value, str) or (allowed and value not in allowed):
        raise TypeError(f"{str(value)[:40]} is not {' or '.join(allowed) or 'text'}")
    return value


def truth(value: Any) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise TypeError(f"{str(value)[:40]} is not true or false")
    return value


def spread(value: Any) -> float | None:
    """Return a standard deviation; null where there is none."""
    return None if value is None else within(value, 0.0, LARGEST_DB)


def slopes(value: Mapping[str, Any]) -> dict[str, float]:
    """Return a number for each block."""
    return {block: number(slope) for block, slope in value.items()}


def ends(value: Any) -> list[float]:
    """Return lower and upper limit."""
    low, high = value
    return [number(low), number(high)]
