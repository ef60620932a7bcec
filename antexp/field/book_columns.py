"""The columns of the two ends' files, and the habits that the pages and the terminal share."""

from __future__ import annotations

from antexp.columns import HANGING_RECORD, READING_RECORD

READING_COLUMNS = READING_RECORD.names
"""Of the reading end's file: a readings file that also holds what happened between the readings."""

HANGING_COLUMNS = HANGING_RECORD.names
"""Of the hanging end's file: one row for each thing that happened."""

HANGING_NEEDED: tuple[str, ...] = tuple(name for name in HANGING_COLUMNS if name != "source_db")
"""Those without which a file is not the hanging end's; pages of before did not ask for the source's monitor."""

MORE_WHEN_WANDERING = 2
"""Readings added to a swap each time somebody says that it wanders (common practice, no source)."""

SLIP_DB = 20.0
"""A level further than this from everything read so far is asked about as a slip of typing, dB (common practice)."""
