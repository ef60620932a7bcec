"""How the demonstration ends: the group, what is known of it, and a choice that can be defended."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from rich.console import Console
from rich.text import Text

from antexp.analysis.choice import Choice, Wire
from antexp.report.choice_text import choice_grids
from antexp.report.choice_wording import choice_answer
from antexp.report.numbers import amount, joined, money


def print_demo_choice(choice: Choice, folder: Path, console: Console) -> None:
    """Print the group as a table, and the reasons for one wire of it.

    Parameters
    ----------
    choice : Choice
    folder : Path
        Where the files are.
    console : Console
    """
    console.print(Text(choice_answer(choice)))
    group = [wire for wire in choice.wires if wire.name in choice.group]
    if group:
        for table in choice_grids(replace(choice, wires=tuple(group)), console.width, "price", loads=False):
            console.print(table)
        console.print(Text(defence(choice)))
    for caution in choice.cautions[-1:]:
        console.print(Text(f"Caution: {caution}"))
    console.print(f"Page: {folder / 'choice.html'}", soft_wrap=True)


def defence(choice: Choice) -> str:
    """Return what can be said for the cheapest wire of the group to the person who pays; empty without prices.

    The demonstration plays somebody for whom price decides; antexp itself puts no weight on anything.
    """
    priced = [wire for wire in choice.wires if wire.name in choice.group and wire.price_per_m is not None]
    if not priced:
        return ""
    wire = min(priced, key=lambda each: each.price_per_m or 0.0)
    dearest = max(each.price_per_m or 0.0 for each in priced)
    facts = [f"it costs {money(wire.price_per_m)} a metre, the dearest of the group {money(dearest)}", *_strength(wire)]
    if wire.handling is not None:
        facts.append(f"hanging it was ticked {wire.handling:g} of 5"
                     + (f" (“{wire.handling_notes[0]}”)" if wire.handling_notes else ""))
    weather = f" {wire.corrosion.text}" if wire.corrosion.text else ""
    return (f"Where price decides, “{wire.name}” can be defended to the person who pays: it falls short of the best of "
            f"the wires compared by less than {choice.matter_db:g} dB, if at all; {joined(facts)}.{weather} Where "
            "something else decides, the page sorts by that.")


def _strength(wire: Wire) -> list[str]:
    """Say how far a wire is from breaking."""
    load = wire.load
    if load.safety_factor is None:
        return []
    gust = "" if load.safety_factor_in_wind is None else f", {amount(load.safety_factor_in_wind)} in the gust at worst"
    return [f"over the span it is pulled {amount(load.safety_factor)} times less than breaks it{gust}"]
