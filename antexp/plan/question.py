"""What is asked, and how sure the answer is to be."""

from __future__ import annotations

from typing import Annotated

from antexp.plan import unit_guesses as guesses
from antexp.plan.frozen import Frozen
from antexp.plan.quantities import number, word
from antexp.plan.words import COMPARES, Compare


class Question(Frozen):
    """What is asked and how sure the answer is to be.

    Attributes
    ----------
    compare : str
        ``"reference"``: each against it; ``"each-other"``: all pairs; ``"best"``: which can still be the best.
    matter_db : float or None
        The smallest gap that would change the user's choice, dB; None where it is not stated, never a silent 1.
    confidence : float
        For all comparisons together.
    chance : float
        The wanted probability of noticing a true gap of matter_db.
    """

    compare: Annotated[Compare, word(COMPARES)] = "reference"
    matter_db: Annotated[float | None, number(0, 100, "dB", above=True)] = None
    confidence: Annotated[float, number(0.5, 0.9999, guess=guesses.confidence)] = 0.95
    chance: Annotated[float, number(0.05, 0.9999, guess=guesses.probability)] = 0.80
