"""The allowed word that a mistyped one most likely meant."""

from __future__ import annotations

from collections.abc import Iterable
from difflib import SequenceMatcher

_ALIKE = 0.6  # the share of common letters from which two words look like a slip of one another


def nearest(word: str, allowed: Iterable[str]) -> str | None:
    """Return the allowed word nearest to a word, or None when none is near.

    Spaces, hyphens, underscores and case are not counted; a word that contains an allowed one, or is
    contained in it, is near.

    Parameters
    ----------
    word : str
        What was written.
    allowed : iterable of str
        What could have been written.
    """
    given = _bare(word)[:200]  # the comparison is quadratic in the length
    if not given:
        return None
    best, best_score = None, _ALIKE
    for candidate in allowed:
        score = _likeness(given, _bare(candidate))
        if score > best_score or (score == best_score and best is None):
            best, best_score = candidate, score
    return best


def _likeness(given: str, wanted: str) -> float:
    """Return how alike two bare words are, 0 to 1."""
    ratio = SequenceMatcher(None, given, wanted, autojunk=False).ratio()
    if len(wanted) >= 3 and len(given) >= 3 and (given in wanted or wanted in given):
        return max(ratio, _ALIKE + 0.1)
    return ratio


def _bare(word: str) -> str:
    """Return the word without spaces, hyphens, underscores and capitals."""
    return "".join(word.split()).replace("-", "").replace("_", "").casefold()
