"""Sittings: the clock times between which swapping goes on."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

_FORM = re.compile(r"(?:(\d{4})-(\d\d)-(\d\d)[ T])?\s*(\d{1,2})[:.](\d\d)\s*[-–]\s*(\d{1,2})[:.](\d\d)", re.ASCII)


@dataclass(frozen=True)
class Sitting:
    """One sitting of a plan.

    Attributes
    ----------
    start : str
        When swapping may begin, ``HH:MM``.
    end : str
        When the last swap must be done, ``HH:MM``.
    minutes : int
        How long it lasts, minutes.
    day : datetime.date or None
        Its date where the plan gives one.
    """

    start: str
    end: str
    minutes: int
    day: date | None = None

    @property
    def start_minute(self) -> int:
        """Return the start in minutes after midnight."""
        return int(self.start[:2]) * 60 + int(self.start[3:])

    def __str__(self) -> str:
        """Return the sitting as the plan writes it."""
        day = f"{self.day.isoformat()} " if self.day else ""
        return f"{day}{self.start}-{self.end}"


def parse_sitting(text: str) -> Sitting | str:
    """Read ``09:30-12:15``, with ``2026-05-02`` and a blank before it where days are to be told apart.

    Returns
    -------
    Sitting or str
        The sitting, or what is wrong with the text.
    """
    found = _FORM.fullmatch(text.strip())
    if not found:
        return "is not of the form 09:30-12:15"
    year, month, day, *clock = found.groups()
    hour, minute, end_hour, end_minute = (int(part) for part in clock)
    if hour > 23 or end_hour > 24 or minute > 59 or end_minute > 59 or end_hour * 60 + end_minute > 24 * 60:
        return "has an hour or minute that no clock shows"
    try:
        on = date(int(year), int(month), int(day)) if year else None
    except ValueError:
        return "has a date that no calendar shows"
    minutes = (end_hour - hour) * 60 + end_minute - minute
    if minutes <= 0:
        return "ends before it begins; one that runs past midnight is two sittings with dates"
    return Sitting(f"{hour:02d}:{minute:02d}", f"{end_hour:02d}:{end_minute:02d}", minutes, on)


def clash(sittings: Sequence[Sitting]) -> tuple[int, str] | None:
    """Find the first sitting that does not follow the one before it.

    Returns
    -------
    tuple of int and str, or None
        Its zero-based place and what is wrong with it.
    """
    for place in range(1, len(sittings)):
        before, this = sittings[place - 1], sittings[place]
        if (before.day is None) != (this.day is None):
            return place, "has a date where another has none, or the other way round"
        if before.day and this.day and this.day != before.day:
            if this.day < before.day:
                return place, f"comes before the sitting {before}"
        elif this.start_minute < before.start_minute:
            return place, f"comes before the sitting {before}"
        elif this.start_minute < before.start_minute + before.minutes:
            return place, f"overlaps the sitting {before}"
    return None
