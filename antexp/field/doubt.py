"""A doubt about a record: nothing that stops the judgement, but something that the user should know before it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

EFFECTS: dict[str, str] = {
    "words-out-of-step": "If the two ends were out of step, levels are booked to the wrong wire: every gap that rests "
    "on these swaps would be false. Settle it before judging.",
    "another-wire-hung": "The judgement counts the wire that really hung. The order loses a little of its balance: "
    "the limits of the wires concerned move.",
    "swaps-without-readings": "Fewer hangings of these wires: their limits widen. Harmless otherwise, as long as they "
    "were not left out because of their level.",
    "hung-once": "Nothing shows how such a wire scatters from hanging to hanging; its limits lean on the other wires' "
    "scatter.",
    "reference-missing": "In such a block nothing separates drift and jumps from the wires as the order meant it; its "
    "readings help the gaps to the reference less.",
    "times-from-order": "Drift is fitted at the planned times. Where the day ran late or paused, a part of the drift "
    "stays in the gaps.",
    "times-from-swap-numbers": "Drift is fitted as if the swaps had been evenly spaced; drift per hour is not to be "
    "believed.",
    "times-out-of-order": "Drift is fitted at wrong times if these are slips; a wire whose time is wrong takes up "
    "drift.",
    "reading-apart": "It pulls the mean of its swap by its distance shared by the readings of the swap. The judgement "
    "keeps it. Leave it out (keep = 0, with a note) only for a cause that was known when it was read, never because "
    "of the gap.",
    "signs-mixed": "A lost minus sign puts its swap off by twice the level and spoils every gap.",
    "finer-than-step": "The stated step is coarser than the readings: if it is wrong, the judgement treats the meter "
    "as coarser than it is and its limits are off.",
    "all-levels-equal": "There is no scatter to judge by: the judgement asks for the meter's step and can then only "
    "say that it cannot tell.",
    "noise-near": "Noise adds to the level, most to the weakest: gaps to weak wires look smaller than they are, and "
    "their readings scatter more.",
    "noise-moves": "Noise that changes during the day moves weak levels more than strong ones; gaps take up a part of "
    "it.",
    "source-moves": "It is taken off the levels. What the monitor cannot see (the feed line, the antenna end) stays "
    "in.",
    "source-jumps-in-swap": "It is taken off the levels. A step inside a swap may be a loose plug; if the monitor "
    "erred, the swap is off by as much.",
    "rows-left-out": "They take no part. Leaving rows out after seeing the level can make or hide a gap: the report "
    "lists them.",
    "receiver-missing": "Swaps without all receivers are fitted with fewer; receivers that come and go cost "
    "precision.",
    "swr-changed": "The wire was matched differently from hanging to hanging: its gap holds a change of mismatch and "
    "its scatter grows.",
    "height-changed": "Height changes the level by itself: it goes into the scatter, or into a gap when one wire hung "
    "lower.",
    "column-not-used": "If it was meant for a column that antexp knows, the judgement does without what it holds.",
}


@dataclass(frozen=True)
class Doubt:
    """One doubt.

    Attributes
    ----------
    code : str
        A key of `EFFECTS`.
    text : str
        What is odd, with names and numbers.
    lines : tuple of int
        The lines of the file concerned (rows of a DataFrame); empty when it is not about single rows.
    swaps : tuple of int
        The swaps concerned; empty when it is about the whole record.
    """

    code: str
    text: str
    lines: tuple[int, ...] = ()
    swaps: tuple[int, ...] = ()

    def __post_init__(self) -> None:
        """Refuse a code whose effect nobody explained."""
        if self.code not in EFFECTS:
            raise KeyError(f"doubt code {self.code!r} is not in antexp.field.doubt.EFFECTS")

    @property
    def effect(self) -> str:
        """Return what it does to the judgement."""
        return EFFECTS[self.code]

    def to_dict(self) -> dict[str, object]:
        """Return the doubt for a JSON document."""
        return {"code": self.code, "text": self.text, "effect": self.effect, "lines": list(self.lines),
                "swaps": list(self.swaps)}


def whole(numbers: Iterable[float]) -> tuple[int, ...]:
    """Return distinct numbers as plain whole ones, in their order."""
    return tuple(dict.fromkeys(int(number) for number in numbers))
