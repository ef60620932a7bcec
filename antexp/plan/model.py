"""The plan as data: what is compared, with what, in which hours and how sure the answer is to be.

The models are frozen and have the keys of the plan file. They only check; the shapes that a plan file may
take are brought into theirs by `antexp.plan.long_form`, and the door for users is `antexp.plan.reader`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from antexp.plan.candidate import Candidate, Coating
from antexp.plan.field import Field
from antexp.plan.frozen import Frozen
from antexp.plan.meter import Meter
from antexp.plan.quantities import line_of_text
from antexp.plan.question import Question
from antexp.plan.radio import Radio
from antexp.views import Viewable

__all__ = ["Candidate", "Coating", "Field", "Heading", "Meter", "Plan", "Question", "Radio"]


class Heading(Frozen):
    """What stands above the tables.

    Attributes
    ----------
    title : str
        For reports.
    """

    title: Annotated[str, line_of_text()] = "Antenna comparison"


class Plan(Frozen, Viewable):
    """A plan, read and checked, every default filled in.

    Attributes
    ----------
    title : str
        For reports.
    reference : str
        The name of the candidate that every block repeats.
    candidates : tuple of Candidate
        In the order of the file.
    question : Question
        What is asked.
    radio : Radio
        Band, antenna and path.
    meter : Meter
        What is read.
    field : Field
        The hours and the spreads.
    assumptions : tuple of str
        Each default that was filled in, as a sentence that begins "I assume".
    stated : frozenset of str
        The keys the user gave, in the long form: ``"field.hours"``.
    sha256 : str
        Digest of the file's bytes; of its content where the plan came from a mapping.
    path : pathlib.Path or None
        The file.
    """

    title: str
    reference: str
    candidates: tuple[Candidate, ...]
    question: Question
    radio: Radio
    meter: Meter
    field: Field
    assumptions: tuple[str, ...] = ()
    stated: frozenset[str] = frozenset()
    sha256: str = ""
    path: Path | None = None

    @property
    def candidate_names(self) -> tuple[str, ...]:
        """Return the candidates' names in the order of the plan."""
        return tuple(candidate.name for candidate in self.candidates)

    @property
    def others(self) -> tuple[str, ...]:
        """Return the names without the reference."""
        return tuple(name for name in self.candidate_names if name != self.reference)

    @property
    def specimens(self) -> dict[str, tuple[str, ...]]:
        """Return the specimen labels of each candidate."""
        return {candidate.name: candidate.specimen_labels for candidate in self.candidates}

    def candidate(self, name: str) -> Candidate:
        """Return the candidate of a name.

        Raises
        ------
        KeyError
            When the plan has none of that name.
        """
        return {candidate.name: candidate for candidate in self.candidates}[name]

    def states(self, key: str) -> bool:
        """Return whether the user gave a key, named as in the long form: ``"meter.scale"``."""
        return key in self.stated
