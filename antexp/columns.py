"""The data dictionary: every column of every table that antexp reads or writes.

A file's reader checks against it, a file's writer takes its order from it, and the reference page of the
documentation is made from it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["text", "whole number", "number", "complex number", "pair of numbers", "yes or no", "time"]
"""``time`` is ISO 8601; a ``complex number`` is written ``62+9j``; ``yes or no`` is 1 or 0."""


@dataclass(frozen=True)
class Column:
    """One column.

    Attributes
    ----------
    name : str
        As it stands in the file's head.
    kind : str
        One of `Kind`.
    unit : str
        Empty for text and pure numbers.
    meaning : str
        In plain words.
    required : bool
        Whether a file without it is refused.
    allowed : tuple of str
        The words it may hold; empty for any.
    """

    name: str
    kind: Kind
    unit: str
    meaning: str
    required: bool = False
    allowed: tuple[str, ...] = ()


@dataclass(frozen=True)
class Table:
    """One table.

    Attributes
    ----------
    name : str
        What people call it.
    row : str
        What a row is.
    columns : tuple of Column
        In the order in which antexp writes them.
    """

    name: str
    row: str
    columns: tuple[Column, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Return the columns' names in order."""
        return tuple(column.name for column in self.columns)

    @property
    def required(self) -> tuple[str, ...]:
        """Return the names of the columns that must be there."""
        return tuple(column.name for column in self.columns if column.required)

    def column(self, name: str) -> Column:
        """Return a column by its name.

        Raises
        ------
        KeyError
            When the table has none of that name.
        """
        return {column.name: column for column in self.columns}[name]


_SWAP = Column("swap", "whole number", "", "One hanging of one specimen, counted over the whole experiment.", True)
_WORD = Column("word", "text", "", "Check word that both ends say; fresh at each swap, it tells nothing of the wire.",
               True)
_BLOCK = Column("block", "text", "", "Swaps done in one go, between which the level may jump.", True)
_POSITION = Column("position", "whole number", "", "Place of the swap within its block, from 1.", True)
_MINUTES = Column("minutes", "number", "min", "Planned start of the swap, from the start of its block.", True)

ORDER = Table("order", "a swap", (
    _SWAP,
    _BLOCK,
    _POSITION,
    _MINUTES,
    _WORD,
    Column("candidate", "text", "", "What is hung.", True),
    Column("specimen", "text", "", "Which antenna made of it, named within the candidate.", True),
    Column("place", "text", "", "The support or position it hangs in.", True),
    Column("role", "text", "", "Whether the swap is the reference's.", True, ("candidate", "reference")),
))

ORDER_READING_END = Table("order for the reading end", "a swap", (_SWAP, _BLOCK, _POSITION, _MINUTES, _WORD))

READINGS = Table("readings", "a reading", (
    Column("swap", "whole number", "", "The hanging that was read, counted over the whole experiment.", True),
    Column("block", "text", "", "Swaps done in one go; all of them 1 where the column is missing."),
    Column("candidate", "text", "", "What hung; required where no order file is given."),
    Column("specimen", "text", "", "Which antenna made of it, named within the candidate."),
    Column("place", "text", "", "The support or position it hung in."),
    Column("receiver", "text", "", "Which receiver was read, where there are several."),
    Column("minutes", "number", "min", "When it was read, from the start of its block."),
    Column("time", "time", "", "When it was read, by the clock; counts from the block's first reading."),
    Column("reading", "whole number", "", "Number of the reading within its swap and receiver."),
    Column("level_db", "number", "dB", "The level on the plan's scale; without a plan in dBm or dB, higher is "
           "stronger. One of level_db, level_s or the range is required."),
    Column("level_low_db", "number", "dB", "Lower end of a reading that is known only to lie in a range."),
    Column("level_high_db", "number", "dB", "Upper end of such a reading."),
    Column("level_s", "text", "S units", "The level in S units: S7, S9+10."),
    Column("word", "text", "", "The check word that was said; joined to the order, it shows a slipped swap."),
    Column("swr", "number", "", "Standing wave ratio seen at the feed during the swap."),
    Column("feed_ohm", "complex number", "ohm", "Impedance measured at the feed during the swap."),
    Column("source_db", "number", "dB", "A monitor of the source, taken off the level."),
    Column("role", "text", "", "off where the source was off, so that the reading is the noise.", False,
           ("candidate", "reference", "off")),
    Column("height_m", "number", "m", "Height of the antenna during the swap."),
    Column("handling", "whole number", "", "How the wire is to hang and coil: 1 a nuisance, 5 a pleasure; one tick a "
           "swap is enough."),
    Column("handling_note", "text", "", "A remark to that: kinks, springs open, easy to splice."),
    Column("keep", "yes or no", "", "0 leaves the row out, and the report says so."),
    Column("note", "text", "", "A remark."),
    Column("correction", "text", "", "Why a label was changed after the reading: a wrong wire was up, for example."),
))

BENCH_BOOK = Table("bench book", "a measurement, in time order", (
    Column("candidate", "text", "", "What was measured.", True),
    Column("specimen", "text", "", "Which antenna made of it; 1 where the cell is empty."),
    Column("leg_m", "number", "m", "Length of one leg of a dipole, or of a vertical's wire."),
    Column("resonance_mhz", "number", "MHz", "Frequency at which the reactance at the feed is zero."),
    Column("swr", "number", "", "Standing wave ratio at the planned frequency."),
    Column("feed_ohm", "complex number", "ohm", "Impedance at the feed at the planned frequency."),
    Column("height_m", "number", "m", "Height at which it was measured."),
    Column("where", "text", "", "Bench, test post, mast, behind a line: where the measurement was made."),
    Column("note", "text", "", "A remark."),
))

VERDICTS = (
    "real and it matters",
    "real, may or may not matter",
    "real but too small to matter",
    "no gap that matters",
    "cannot tell",
)

GAPS = Table("gaps", "a comparison and scope", (
    Column("candidate", "text", "", "The first named: a positive gap says it is stronger.", True),
    Column("against", "text", "", "What it is compared with; \"the best of the others\" where the best is asked for.",
           True),
    Column("gap_db", "number", "dB", "Estimated difference.", True),
    Column("standard_error_db", "number", "dB", "Small-sample (Kenward-Roger) standard error.", True),
    Column("degrees_of_freedom", "number", "", "Small-sample degrees of freedom.", True),
    Column("interval_db", "pair of numbers", "dB", "Limits that hold for all comparisons together.", True),
    Column("p_value", "number", "", "Of this comparison alone.", True),
    Column("p_adjusted", "number", "", "For the family of comparisons.", True),
    Column("resolution_db", "number", "dB", "Half the width of the interval: a gap beyond it is called real.", True),
    Column("detectable_db", "number", "dB", "The true gap that is noticed with the planned chance.", True),
    Column("scope", "text", "", "What the gap speaks of.", True, ("these specimens", "any specimen")),
    Column("verdict", "text", "", "What the limits allow to say; empty on a row that stands beside the one that "
           "counts.", True, VERDICTS),
    Column("counts", "yes or no", "", "Whether the row belongs to the family and carries its verdict."),
    Column("more_blocks", "whole number", "", "For \"cannot tell\": how many more blocks like these would settle it."),
))

ORDER_GAPS = Table("gaps of an order", "a comparison", (
    Column("candidate", "text", "", "The first named.", True),
    Column("against", "text", "", "What it is compared with.", True),
    Column("standard_error_db", "number", "dB", "Expected at the planned spreads.", True),
    Column("resolution_db", "number", "dB", "Expected half width of the interval.", True),
    Column("tied_to_time", "number", "", "How far drift and the gap are tied together, 0 to 1.", True),
))

REPEATS = Table("repeats", "a number of blocks", (
    Column("blocks", "whole number", "", "How many blocks.", True),
    Column("swaps", "whole number", "", "How many swaps that makes.", True),
    Column("hours", "number", "h", "How long swapping takes.", True),
    Column("resolution_db", "number", "dB", "The largest over the asked gaps.", True),
    Column("detectable_db", "number", "dB", "The true gap noticed with the wanted chance; the largest.", True),
    Column("chance", "number", "", "Of noticing a true gap of matter_db, closed form; the smallest.", True),
    Column("chance_all", "number", "", "Of noticing all asked gaps, each at matter_db.", True),
    Column("chance_settled_if_equal", "number", "", "Of saying that no gap matters, when the gap is 0 "
           "(with compare = best: for two equal wires ahead of all others).", True),
    Column("chance_rehearsed", "number", "", "As chance, from simulated records judged as real ones are.", True),
    Column("chance_rehearsed_se", "number", "", "Monte Carlo standard error of chance_rehearsed.", True),
    Column("detectable_cautious_db", "number", "dB", "As detectable_db, at the upper limit of the spreads.", True),
    Column("chance_cautious", "number", "", "As chance, at the upper limit of the spreads.", True),
))

EXPECTED_LOSSES = Table("expected losses", "a candidate", (
    Column("name", "text", "", "The candidate.", True),
    Column("resistance_ohm_per_m", "number", "ohm/m", "Of the conductor at the planned frequency.", True),
    Column("loss_resistance_ohm", "number", "ohm", "The conductor's share at the feed.", True),
    Column("conductor_loss_db", "number", "dB", "Power lost in the conductor.", True),
    Column("conductor_loss_range_db", "pair of numbers", "dB", "The same at the ends of the uncertain constants.",
           True),
    Column("mismatch_loss_db", "number", "dB", "Lost to mismatch, from feed_ohm or swr.", True),
    Column("gap_to_reference_db", "number", "dB", "The reference's conductor loss minus this candidate's.", True),
))

TRIM = Table("trim", "a specimen", (
    Column("name", "text", "", "The candidate.", True),
    Column("specimen", "text", "", "Which antenna made of it.", True),
    Column("leg_m", "number", "m", "Length at the last measurement.", True),
    Column("resonance_mhz", "number", "MHz", "Resonance at that length.", True),
    Column("target_mhz", "number", "MHz", "The planned frequency.", True),
    Column("new_leg_m", "number", "m", "The length that resonates there.", True),
    Column("cut_m", "number", "m", "What to take off each leg; negative: add.", True),
    Column("khz_per_cm", "number", "kHz/cm", "How far a centimetre moves the resonance.", True),
    Column("mistuning_cost_db", "number", "dB", "What leaving it would cost.", True),
))

_TIME = Column("time", "time", "", "When it happened, by the clock of the device, with its zone.", True)
_OTHER_TIME = Column("other_time", "time", "", "What the other end's clock showed, where clocks were compared.", True)
_ENTRY = Column("entry", "whole number", "", "Number of the user's action that wrote the row; rises.", True)
_LEFT_OUT_BY = Column("left_out_by", "whole number", "", "The action that left the row out: read again, a wrong wire.",
                      True)

READING_RECORD = Table("record of the reading end", "a reading, or something that happened between readings", (
    _SWAP,
    _BLOCK,
    _WORD,
    READINGS.column("reading"),
    _TIME,
    *(READINGS.column(name) for name in ("level_db", "level_low_db", "level_high_db", "level_s", "receiver", "role",
                                         "keep", "note")),
    Column("what", "text", "", "What the row is.", True, (
        "reading", "noise", "wanders", "enough", "skip", "stop", "again", "wrong", "remark", "clock", "feed",
        "handling")),
    _OTHER_TIME,
    _ENTRY,
    _LEFT_OUT_BY,
))

HANGING_RECORD = Table("record of the hanging end", "something that happened", (
    _SWAP,
    _BLOCK,
    _WORD,
    Column("what", "text", "", "What the row is.", True, (
        "up", "down", "skip", "stop", "again", "wrong", "remark", "clock")),
    _TIME,
    *(READINGS.column(name) for name in ("candidate", "specimen", "place", "swr", "height_m")),
    Column("height_mark", "yes or no", "", "Whether the height mark was at its place."),
    *(READINGS.column(name) for name in ("source_db", "handling", "handling_note", "keep", "note")),
    _OTHER_TIME,
    _ENTRY,
    _LEFT_OUT_BY,
))

TABLES: tuple[Table, ...] = (ORDER, ORDER_READING_END, READINGS, READING_RECORD, HANGING_RECORD, BENCH_BOOK, GAPS,
                             ORDER_GAPS, REPEATS, EXPECTED_LOSSES, TRIM)
