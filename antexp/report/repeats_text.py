"""How many repeats, in sentences and tables for the terminal."""

from __future__ import annotations

import math

import pandas as pd
from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from antexp.repeats.answer import Answer
from antexp.repeats.offers import Offer
from antexp.report.narrow_tables import print_table
from antexp.report.numbers import decibels
from antexp.report.printed import print_answer, print_heading, print_indented, print_notes

_ROWS_SHOWN = 16


def print_repeats(answer: Answer, console: Console | None = None, trade_offs: pd.DataFrame | None = None) -> None:
    """Print the answer for people.

    Parameters
    ----------
    answer : Answer
    console : Console, optional
        Where to; left out: standard output.
    trade_offs : DataFrame, optional
        Of `antexp.repeats.trade_offs`, where they were asked for.
    """
    console = print_answer(headline(answer), console)
    for sentence in sentences(answer):
        console.print(Text(sentence))
    print_table(console, repeats_table(answer))
    console.print(Padding(Text(KEY), (0, 0, 1, 2)))
    if answer.offers:
        console.print(Text("What your hours can do:", style="bold"))
        print_table(console, _offer_table(answer))
        print_indented(console, [offer.advice for offer in answer.offers if offer.advice])
    if trade_offs is not None:
        print_heading(console, "The same hours spent otherwise:")
        print_table(console, _trade_table(trade_offs))
    print_notes(console, answer.warnings)


def headline(answer: Answer) -> str:
    """Return the answer as one sentence: "5 blocks, 50 swaps, 5 h 50 min: 90 % chance of noticing 1.0 dB."."""
    day = f"{_blocks(answer.blocks)}, {answer.swaps} swaps, {hours_and_minutes(answer.hours)}"
    if answer.matter_db is None:
        chance = share(answer.wanted_chance)
        return f"{day}: a gap of {decibels(answer.detectable_db)} dB is noticed with a chance of {chance}."
    return f"{day}: {share(answer.chance)} chance of noticing {one_decimal(answer.matter_db)} dB."


def sentences(answer: Answer) -> list[str]:
    """Return what stands behind the answer, each a sentence or two."""
    said = [_enough(answer), _rehearsed(answer), _cautious(answer), _guess(answer),
            f"Observed gaps beyond {decibels(answer.resolution_db)} dB will be called real; a true gap of "
            f"{decibels(answer.detectable_db)} dB is noticed with a chance of {share(answer.wanted_chance)}. For the "
            "verdict “real and it matters” the true gap must be near twice the one that matters."]
    return [sentence for sentence in said if sentence]


def _enough(answer: Answer) -> str:
    """Say what the wanted chance takes, where the chosen day is not it."""
    if answer.matter_db is None or answer.enough_blocks is None or answer.enough_blocks == answer.blocks:
        return ""
    row = answer.table[answer.table["blocks"] == answer.enough_blocks].iloc[0]
    day = f"{_blocks(answer.enough_blocks)}, {int(row['swaps'])} swaps, {hours_and_minutes(row['hours'])}"
    if answer.enough_blocks < answer.blocks:
        return f"The wanted {share(answer.wanted_chance)} is reached with {day} already."
    candidates = len({*answer.gaps["candidate"], *answer.gaps["against"]})
    return (f"{candidates} wires at {one_decimal(answer.matter_db)} dB take {day} for the wanted "
            f"{share(answer.wanted_chance)}, at the spreads you state. That is much for one outing: fewer wires, a "
            "second day or a larger gap that matters are honest ways out.")


def _rehearsed(answer: Answer) -> str:
    """Say what the rehearsal came to."""
    found = answer.rehearsal
    if found is None:
        return ""
    error = f"±{100 * found.chance_se:.1f} points" if found.chance_se >= 5e-4 else "less than a tenth of a point"
    return (f"Rehearsed {found.records:,} times through the code that judges: {share(found.chance)} (Monte Carlo error "
            f"{error}); all gaps at once: {share(found.chance_all)}.")


def _cautious(answer: Answer) -> str:
    """Say what is left of the answer if the spreads are as large as they may be."""
    if answer.matter_db is None or math.isnan(answer.chance_cautious):
        return ""
    text = (f"Guesses are guesses: with every spread at its upper limit the chance is {share(answer.chance_cautious)} "
            f"and the day notices {decibels(answer.detectable_cautious_db)} dB")
    if answer.enough_cautious_blocks is None:
        return f"{text}."
    return f"{text}; {_blocks(answer.enough_cautious_blocks)} would then be enough."


def _guess(answer: Answer) -> str:
    """Say which guess matters most."""
    rows = answer.sensitivity
    if rows.empty or not rows["detectable_gained_db"].iloc[0] > 0:
        return ""
    top = rows.iloc[0]
    return (f"The guess that matters most is the {top['meaning']} ({top['guess']} = {top['value']:g}): at "
            f"{top['upper']:.3g} the day notices {decibels(top['detectable_db'])} instead of "
            f"{decibels(answer.detectable_db)} dB.")


def repeats_table(answer: Answer) -> Table:
    """Return the numbers of blocks as a table for the terminal; the chosen row stands out."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False, collapse_padding=True)
    for name in ("blocks", "swaps", "time", "dB", "chance", "all", "if equal", "rehearsed", "cautious"):
        table.add_column(name, justify="right", no_wrap=True)
    chances = ("chance", "chance_all", "chance_settled_if_equal", "chance_rehearsed", "chance_cautious")
    for row in _shown(answer).to_dict(orient="records"):
        cells = [str(row["blocks"]), str(row["swaps"]), hours_and_minutes(row["hours"]).removesuffix(" min"),
                 decibels(row["detectable_db"]), *(short_share(row[name]) for name in chances)]
        table.add_row(*cells, style="bold" if row["blocks"] == answer.blocks else "")
    return table


KEY = (
    "dB: the gap noticed with the wanted chance; chance: of noticing the gap that matters; all: of noticing all gaps "
    "at once; if equal: of settling that no gap matters when there is none; cautious: chance with every spread at its "
    "upper limit."
)


def _shown(answer: Answer) -> pd.DataFrame:
    """Return the rows worth a line: up to a few beyond the chosen and the sufficient day."""
    need = max(answer.blocks, answer.enough_blocks or 0, answer.enough_cautious_blocks or 0)
    rows = answer.table[answer.table["blocks"] <= max(need + 2, 6)]
    if len(rows) <= _ROWS_SHOWN:
        return rows
    keep = {answer.blocks, answer.enough_blocks, *rows["blocks"].iloc[:: -(-len(rows) // _ROWS_SHOWN)]}
    return rows[rows["blocks"].isin(keep)]


def _offer_table(answer: Answer) -> Table:
    """Return the offers side by side."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("")
    for offer in answer.offers:
        table.add_column(offer.kind, overflow="fold")
    rows = [
        ("wires", [str(len(offer.candidates)) for offer in answer.offers]),
        ("left out", [", ".join(offer.left_out) or "–" for offer in answer.offers]),
        ("blocks, swaps", [f"{offer.blocks}, {offer.swaps}" for offer in answer.offers]),
        ("time", [hours_and_minutes(offer.hours) for offer in answer.offers]),
        ("clock", [clock(offer) for offer in answer.offers]),
        ("notices dB", [decibels(offer.detectable_db) for offer in answer.offers]),
        ("chance", [short_share(offer.chance) for offer in answer.offers]),
        ("cautious chance", [short_share(offer.chance_cautious) for offer in answer.offers]),
    ]
    for name, cells in rows:
        if any(cell != "–" for cell in cells):
            table.add_row(Text(name), *(Text(cell) for cell in cells))
    return table


def clock(offer: Offer) -> str:
    """Return the clock times of an offer's blocks."""
    return ", ".join(offer.clock) or "–"


def _trade_table(rows: pd.DataFrame) -> Table:
    """Return the trade-offs as a table."""
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for name in ("choice", "setting"):
        table.add_column(name)
    for name in ("blocks", "swaps", "notices dB", "chance"):
        table.add_column(name, justify="right")
    table.add_column("about")
    previous = ""
    for row in rows.to_dict(orient="records"):
        choice = "" if row["choice"] == previous else str(row["choice"])
        previous = str(row["choice"])
        table.add_row(choice, str(row["setting"]), str(row["blocks"]), str(row["swaps"]),
                      decibels(row["detectable_db"]), short_share(row["chance"]), str(row["scope"]),
                      style="bold" if row["as_planned"] else "")
    return table


def share(value: float) -> str:
    """Write a chance in whole per cent, and never as certain or impossible where it is not."""
    if value is None or math.isnan(value):
        return "–"
    if 0.995 <= value < 1.0:
        return "over 99 %"
    if 0.0 < value < 0.005:
        return "under 1 %"
    return f"{100 * value:.0f} %"


def short_share(value: float) -> str:
    """Write a chance for a table."""
    return share(value).replace("over ", ">").replace("under ", "<")


def hours_and_minutes(hours: float) -> str:
    """Write hours as "5 h 50 min"."""
    minutes = round(hours * 60)
    whole, rest = divmod(minutes, 60)
    return f"{whole} h {rest} min" if whole else f"{rest} min"


def one_decimal(value: float) -> str:
    """Write a stated number of dB with one decimal, or with as many as it has."""
    return f"{value:.1f}" if abs(value * 10 - round(value * 10)) < 1e-9 else f"{value:g}"


def _blocks(count: int) -> str:
    """Write a number of blocks."""
    return f"{count} block{'s' if count != 1 else ''}"
