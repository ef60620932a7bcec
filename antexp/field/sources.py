"""Where levels come from when nobody types them.

A source of your own needs two methods, `read` and `close`, and two attributes, as `LevelSource` says. Give it to
`antexp.field.recorder.Recorder`; nothing has to be registered.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol


@dataclass(frozen=True)
class SourceLevel:
    """One reading from an instrument.

    Attributes
    ----------
    level_db : float, dB or dBm
        On the plan's scale, higher = stronger.
    note : str
        Anything worth keeping beside it, such as "bursts"; "" for nothing.
    """

    level_db: float
    note: str = ""


class SourceError(Exception):
    """The instrument did not answer, or with something else than a level; its text is shown to the user."""


class LevelSource(Protocol):
    """An instrument that gives a level when it is asked.

    Attributes
    ----------
    name : str
        What the recorder calls it: ``"rig at localhost:4532"``.
    """

    name: str

    def read(self) -> SourceLevel:
        """Take one reading now.

        Raises
        ------
        SourceError
            When there is none; the recorder says so and asks again, and levels can still be typed.
        """
        ...

    def close(self) -> None:
        """Let the instrument go."""
        ...
