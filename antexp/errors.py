"""What can be wrong with the user's input, said so that the user can mend it.

A stage of the flow has one exception each. Every exception carries all the faults that were found, not the
first one, and each fault says what is wrong, where, what was given, what is allowed and what to do.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from numbers import Integral


@dataclass(frozen=True)
class Fault:
    """One thing that is wrong with an input.

    Attributes
    ----------
    what : str
        The thing and its problem: ``"confidence is not a probability"``.
    where : str
        File, line and key or column: ``"plan.toml, line 7, key confidence"``.
    got : str
        The value as it was given; empty when there is none.
    allowed : str
        What would have been accepted; empty when the rest says it.
    do : str
        What to do now, as one sentence.
    """

    what: str
    where: str = ""
    got: str = ""
    allowed: str = ""
    do: str = ""

    def __str__(self) -> str:
        """Return the fault as one message in the house form."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        parts = [part for part in (self.got and f"got {self.got}", self.allowed and f"allowed: {self.allowed}") if part]
        text = f"{head}: {'; '.join(parts)}" if parts else head
        text = text if text.endswith((".", "?")) else f"{text}."
        return f"{text} {self.do}" if self.do else text


def seed_faults(seed: object) -> tuple[Fault, ...]:
    """Return what is wrong with a seed: nothing, or one fault."""
    if isinstance(seed, Integral) and int(seed) >= 0:
        return ()
    return (Fault("seed is not a seed", got=repr(seed), allowed="a whole number, 0 or more"),)


class InputError(ValueError):
    """The input is at fault: every fault found, at once.

    Attributes
    ----------
    faults : tuple of Fault
        At least one.
    """

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__("\n".join(str(fault) for fault in self.faults))


class FileError(InputError):
    """A file that cannot be read or written."""


class PlanError(InputError):
    """A plan that cannot be followed."""


class OrderError(InputError):
    """A swap order that cannot be made or read."""


class ReadingsError(InputError):
    """A readings file, or a bench book, that cannot be trusted as it stands."""


class JudgementError(InputError):
    """A record that cannot be judged in the way that was asked."""


class RepeatsError(InputError):
    """A question about repeats that has no answer as it was put."""
