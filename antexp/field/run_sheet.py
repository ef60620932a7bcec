"""Sheets of paper for both ends, and the card to take along."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from antexp.field.facts import FieldFacts
from antexp.field.page_parts import cautions_of, render
from antexp.field.swap_list import PlannedSwap, SwapList

SCALE_WORDS = {
    "dBm": ("dBm", "with its minus sign"),
    "minus dBm": ("minus dBm", "as displayed, without the minus sign"),
    "dB": ("dB", "higher = stronger"),
    "attenuator": ("dB of attenuator", "turned until the meter rests on the one mark"),
    "S units": ("S units", "S7, S9+10"),
}
MOST_BOXES_A_ROW = 5
LONG_NAME = 32
"""Names of more letters are set smaller on the hanging end's sheet, so that an ordinary block still fits one page."""


@dataclass(frozen=True)
class SheetRow:
    """One swap on paper.

    Attributes
    ----------
    swap : PlannedSwap
    when : str
        Planned clock time, or minutes after the block's start.
    first_hanging : bool
        Whether its specimen hangs for the first time in the block, when its SWR is measured.
    """

    swap: PlannedSwap
    when: str
    first_hanging: bool


@dataclass(frozen=True)
class SheetBlock:
    """One block on paper.

    Attributes
    ----------
    label : str
    rows : tuple of SheetRow
    by_clock : bool
        Whether ``when`` is a clock time.
    """

    label: str
    rows: tuple[SheetRow, ...]
    by_clock: bool


def hanging_sheet(swaps: SwapList, facts: FieldFacts) -> str:
    """Return the hanging end's sheet as a page to print, HTML complete in itself; its swaps have names."""
    return render("hanging_sheet.html", blocks=sheet_blocks(swaps), facts=facts, cautions=cautions_of(facts),
                  several_places=len({swap.place for swap in swaps.swaps}) > 1, long_name=LONG_NAME)


def reading_sheet(swaps: SwapList, facts: FieldFacts) -> str:
    """Return the reading end's sheet as a page to print; unless the plan says otherwise it has no names in it."""
    unit, hint = SCALE_WORDS[facts.scale]
    return render("reading_sheet.html", blocks=sheet_blocks(reading_view(swaps, facts)), unit=unit, hint=hint,
                  boxes=min(facts.readings, MOST_BOXES_A_ROW), readings=facts.readings,
                  cautions=cautions_of(facts))


def reading_view(swaps: SwapList, facts: FieldFacts) -> SwapList:
    """Return the swaps as the reading end may see them: without names, unless the plan says ``blind = false``."""
    return swaps.without_names() if facts.blind else swaps


def field_card(swaps: SwapList, facts: FieldFacts) -> str:
    """Return the card to take along: crew, talk, packing list, permissions; it has no names in it."""
    unit, hint = SCALE_WORDS[facts.scale]
    example = swaps.swaps[min(1, len(swaps.swaps) - 1)]
    return render("card.html", swaps=len(swaps.swaps), blocks=len(swaps.blocks), example=example, unit=unit, hint=hint,
                  facts=facts, cautions=cautions_of(facts),
                  specimens=len({(swap.candidate, swap.specimen) for swap in swaps.swaps}) if swaps.has_names else None)


def sheet_blocks(swaps: SwapList) -> tuple[SheetBlock, ...]:
    """Lay the swaps out block by block, with planned times and the first hangings marked."""
    blocks = []
    for place, label in enumerate(swaps.blocks):
        start = swaps.block_starts[place] if place < len(swaps.block_starts) else None
        hung: set[tuple[str, str]] = set()
        rows = []
        for swap in swaps.of_block(label):
            specimen = (swap.candidate, swap.specimen)
            rows.append(SheetRow(swap, planned_time(start, swap.minutes), specimen not in hung))
            hung.add(specimen)
        blocks.append(SheetBlock(label, tuple(rows), start is not None))
    return tuple(blocks)


def planned_time(start_minute: float | None, minutes: float) -> str:
    """Return a planned time: by the clock, or as hours and minutes after the block's start."""
    total = round((start_minute or 0.0) + minutes)
    if start_minute is None:
        return f"+{total // 60}:{total % 60:02d}"
    return f"{total // 60 % 24:02d}:{total % 60:02d}"


def paper_files(swaps: SwapList, facts: FieldFacts) -> dict[str, Any]:
    """Return what goes on paper: file name ending → page. Without names, only what the reading end needs."""
    pages = {"reading-sheet.html": reading_sheet(swaps, facts), "card.html": field_card(swaps, facts)}
    return {"hanging-sheet.html": hanging_sheet(swaps, facts), **pages} if swaps.has_names else pages
