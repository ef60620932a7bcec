"""Levels as people type them: decimal comma or point, minus understood on dBm, S units; and what they raise."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from antexp.decibels import s_units_to_db
from antexp.field.book_columns import SLIP_DB

_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)")
_S_READING = re.compile(r"[Ss]?([0-9])(?:\+([0-9]{1,2})(?:[dD][bB])?)?")
POSSIBLE_DB = 300.0


@dataclass(frozen=True)
class TypedLevel:
    """A level, understood.

    Attributes
    ----------
    cells : mapping of str to str
        The level columns of the readings file that hold it.
    db : float, dB
        The level, of a range its middle, for comparing.
    """

    cells: Mapping[str, str]
    db: float

    @property
    def shown(self) -> str:
        """Return it as people read it back."""
        return shown_level(self.cells)


def plain_number(text: str) -> str | None:
    """Return a typed number with a decimal point and without spare zeros; None when it is not a number."""
    plain = re.sub(r"\s+", "", text).replace("−", "-").replace(",", ".", 1)
    if not _NUMBER.fullmatch(plain):
        return None
    plain = re.sub(r"^([+-]?)\.", r"\g<1>0.", plain.removesuffix("."))
    return re.sub(r"^([+-]?)0+(?=[0-9])", r"\1", plain)


def parse_level(text: str, scale: str) -> TypedLevel:
    """Understand a typed level.

    Parameters
    ----------
    text : str
    scale : str
        One of `antexp.plan.words.SCALES`; on ``"dBm"`` a number without a sign is negative.

    Raises
    ------
    ValueError
        When it cannot be a level; the message says why.
    """
    if not text.strip():
        raise ValueError("Nothing was typed.")
    if scale == "S units":
        return _parse_s(text)
    plain = plain_number(text)
    if plain is None:
        raise ValueError(f"Not a number: {text.strip()}. Digits and one decimal comma or point.")
    if abs(float(plain)) > POSSIBLE_DB:
        raise ValueError(f"{text.strip()} dB is not possible. Was the decimal point left out?")
    if scale == "dBm" and plain[0] not in "+-" and float(plain) != 0:
        plain = f"-{plain}"
    plain = plain.removeprefix("+")
    return TypedLevel({"level_db": plain}, float(plain))


def parse_range(one: str, other: str, scale: str) -> TypedLevel:
    """Understand a reading that is known only to lie between two levels, in either order.

    Raises
    ------
    ValueError
        When an end cannot be a level, both are the same, or the scale has no ranges.
    """
    if scale == "S units":
        raise ValueError("A range is not needed in S units: type the nearer mark, it stands for half a unit each way.")
    ends = sorted((parse_level(one, scale), parse_level(other, scale)), key=lambda level: level.db)
    if ends[0].db == ends[1].db:
        raise ValueError("Both ends are the same: that is an ordinary reading.")
    low, high = ends
    return TypedLevel({"level_low_db": low.cells["level_db"], "level_high_db": high.cells["level_db"]},
                      (low.db + high.db) / 2)


def _parse_s(text: str) -> TypedLevel:
    found = _S_READING.fullmatch(re.sub(r"\s+", "", text))
    over = int(found[2] or 0) if found else 0
    if not found or (over and found[1] != "9") or over > 60:
        raise ValueError(f"Not an S reading: {text.strip()}. Allowed: S0 to S9, S9+10 and the like.")
    cells = {"level_s": f"S{found[1]}" + (f"+{over}" if over else "")}
    return TypedLevel(cells, float(s_units_to_db(int(found[1]), over)))


def shown_level(cells: Mapping[str, str]) -> str:
    """Return a level's cells as people read it back."""
    text = cells.get("level_s") or cells.get("level_db") or f"{cells['level_low_db']} to {cells['level_high_db']}"
    return text.replace("-", "−")


def row_db(cells: Mapping[str, str]) -> float:
    """Return the level of a row in dB, of a range its middle."""
    if cells.get("level_s"):
        return _parse_s(cells["level_s"]).db
    if cells.get("level_db"):
        return float(cells["level_db"])
    return (float(cells["level_low_db"]) + float(cells["level_high_db"])) / 2


def odd_question(
    level: TypedLevel, own: Sequence[Mapping[str, str]], every: Sequence[Mapping[str, str]], odd_db: float
) -> str:
    """Return the question that a level raises, "" for none.

    It is asked about a slip of typing (far from everything read so far, whatever hung) and about disagreement within
    the present swap; never because another swap of the same wire read otherwise, which would polish the record.

    Parameters
    ----------
    level : TypedLevel
    own : sequence of rows
        Readings of the present swap that count.
    every : sequence of rows
        All readings so far that count.
    odd_db : float, dB
        Disagreement within a swap beyond which it is asked.
    """
    if own:
        if abs(level.db - median(map(row_db, own))) > odd_db:
            return f"The other readings of this swap: {', '.join(map(shown_level, own))}."
    elif every and abs(level.db - median(map(row_db, every))) > SLIP_DB:
        return (f"That is more than {SLIP_DB:g} dB from everything read so far. "
                "Is a digit, the point or the sign amiss?")
    return ""
