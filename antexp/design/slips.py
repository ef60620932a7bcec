"""Check words against slips: whether the reading end is a swap ahead of the hanging end, or behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from antexp.design.check_words import within_one_letter


@dataclass(frozen=True)
class Slip:
    """The first swap at which the two ends were out of step.

    Attributes
    ----------
    swap : int
        Its number at the end that wrote the words down.
    word : str
        What was written.
    expected : str
        The order's word for that swap.
    belongs_to : int
        The swap to which the order gives the written word.
    until : int
        The last swap in a row with a word that belongs to another swap.
    """

    swap: int
    word: str
    expected: str
    belongs_to: int
    until: int

    def __str__(self) -> str:
        """Return the slip as a sentence."""
        span = f"swap {self.swap}" if self.until == self.swap else f"swaps {self.swap} to {self.until}"
        return (f'Out of step from swap {self.swap}: its word is "{self.expected}", but "{self.word}" was written, '
                f"which is swap {self.belongs_to}'s; {span} carry another swap's word.")


def first_slip(expected: Mapping[int, str], written: Sequence[tuple[int, str]]) -> Slip | None:
    """Name the first swap whose written word is another swap's.

    Parameters
    ----------
    expected : mapping of int to str
        The order's word of each swap.
    written : sequence of (int, str)
        Swap and word as they were written down, in the order of the swaps; blank words are not compared.

    Returns
    -------
    Slip or None
        None when both ends were in step. A word with one letter wrong, or one that is nobody's, was misheard or
        mistyped and is no slip: no other swap can be meant by it.
    """
    owner = {_plain(word): swap for swap, word in expected.items()}
    first: tuple[int, str] | None = None
    until = 0
    for swap, word in written:
        own = expected.get(swap)
        said = _plain(word)
        if not said or own is None:
            continue
        is_slip = not within_one_letter(said, _plain(own)) and said in owner
        if first is None and is_slip:
            first, until = (swap, word), swap
        elif first is not None and is_slip:
            until = swap
        elif first is not None:
            break
    if first is None:
        return None
    swap, word = first
    return Slip(swap, word, expected[swap], owner[_plain(word)], until)


def _plain(word: str) -> str:
    """Return a word as it is compared: blanks around it and capitals do not count."""
    return word.strip().casefold()
