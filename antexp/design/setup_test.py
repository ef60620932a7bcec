"""The test of the set-up before the first comparison, as data: what to do, what to read, what is good enough."""

from __future__ import annotations

from dataclasses import dataclass

COMMON_PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class SetupStep:
    """One step of the test.

    Attributes
    ----------
    name : str
        What stands in the ``step`` column of the readings; blank or ``hang`` for the plain re-hangings.
    title : str
    do : str
        What the two ends do.
    readings : int
        How many readings.
    every_minutes : float
        Time between them.
    good : str
        What is good enough, in words.
    kind : str
        Where the limit comes from.
    caution : str
        What can hurt somebody here; blank where nothing beyond the day's cautions.
    """

    name: str
    title: str
    do: str
    readings: int
    every_minutes: float
    good: str
    kind: str = COMMON_PRACTICE
    caution: str = ""


STILL, LOAD, ANTENNA = "still", "dummy load", "antenna"
ATTENUATOR_IN, ATTENUATOR_OUT = "attenuator in", "attenuator out"
HAND_ON, HAND_OFF, HANG = "hand on", "hand off", "hang"

STILL_MINUTES = 15
LEAKAGE_DB = 30.0
"""The level must fall by this much with the source in a dummy load."""
ATTENUATOR_DB = 0.5
"""A known attenuator must read as marked within this, or within half a step of the meter."""
HAND_DB = 0.2
"""A hand on the feed line may change the level by this much."""
RE_HANGINGS = 6

_LOW_POWER = ("Milliwatts only, within your licence; never touch an antenna or its feed point with the source on. "
              "Local rules on RF exposure come first.")

SETUP_STEPS: tuple[SetupStep, ...] = (
    SetupStep(STILL, "Hold still", "Hang the reference, touch nothing, read once a minute for 15 minutes.",
              STILL_MINUTES + 1, 1.0, "Nothing to pass: it shows the reading scatter and how the path drifts."),
    SetupStep(LOAD, "Source into a dummy load", "Disconnect the antenna, put the source into a shielded dummy load, "
              "read; connect the antenna again.", 3, 0.5,
              f"The level falls by at least {LEAKAGE_DB:g} dB, else the source leaks past the antenna.",
              caution="Switch the source off before you open a connector."),
    SetupStep(ANTENNA, "Antenna again", "Read with the antenna connected as before.", 3, 0.5,
              "The level is back where it was."),
    SetupStep(ATTENUATOR_IN, "A known attenuator in", "Put an attenuator of known value in front of the receiver, "
              "read.", 3, 0.5, f"The meter falls by the attenuator's value within {ATTENUATOR_DB:g} dB (or half its "
              "step); an S meter's step is calibrated by it."),
    SetupStep(ATTENUATOR_OUT, "Attenuator out", "Take it out, read.", 3, 0.5, "The level is back where it was."),
    SetupStep(HAND_ON, "Hand on the feed line", "Grip the jacket of the feed line a metre below the feed point, read.",
              6, 0.5, f"The level changes by no more than {HAND_DB:g} dB, else current runs on the outside of the "
              "line: fit a common-mode choke.", caution=_LOW_POWER),
    SetupStep(HAND_OFF, "Hand off", "Let go, step back, read.", 6, 0.5, "The level is back where it was."),
    SetupStep(HANG, "Re-hang the reference", "Read; lower it to the ground, unhook it, hoist it again, read; until it "
              f"has hung {RE_HANGINGS} times.", 3, 0.5, "Nothing to pass: it shows the re-hanging scatter.",
              caution="Keep clear of power lines by more than the mast and wire could reach; no lightning about; "
              "nobody below a mast that is being lowered."),
)
