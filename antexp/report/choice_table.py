"""The table by which to choose: its columns, each with a number to sort by and a text to read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pandas as pd

from antexp.analysis.choice import STANDINGS, Choice, Wire
from antexp.plan.corrosion import LONGEST_YEARS
from antexp.report.numbers import amount, decibels, interval, money


@dataclass(frozen=True)
class ChoiceColumn:
    """One column.

    Attributes
    ----------
    key : str
        What ``--sort`` calls it.
    head : str
        Its head.
    value : callable
        Takes a wire, returns the number to sort by; None where there is none.
    text : callable
        Takes a wire, returns what is shown.
    high_first : bool
        Whether a sorted column begins with its largest number.
    loads : bool
        Whether it speaks of loads, so that cautions stand beside it.
    """

    key: str
    head: str
    value: Callable[[Wire], float | None]
    text: Callable[[Wire], str]
    high_first: bool = False
    loads: bool = False


def _of(key: str, head: str, value: Callable[[Wire], float | None], high_first: bool = False,
        loads: bool = False) -> ChoiceColumn:
    """Return a column whose text is its number."""
    return ChoiceColumn(key, head, value, lambda wire: amount(value(wire)), high_first, loads)


def _years(wire: Wire) -> str:
    """Write how long a layer, or half the section, lasts."""
    if wire.corrosion.years is None:
        return "–"
    low, high = wire.corrosion.years
    if low >= LONGEST_YEARS:
        return f"over {LONGEST_YEARS:.0f}"
    if high >= LONGEST_YEARS:
        return f"{amount(round(low, 1))} or more"
    return f"{amount(round(low, 1))}…{amount(round(high, 1))}"


CHOICE_COLUMNS: tuple[ChoiceColumn, ...] = (
    ChoiceColumn("gap", "gap dB", lambda wire: wire.gap_db, lambda wire: decibels(wire.gap_db, True), True),
    ChoiceColumn("between", "between", lambda wire: wire.interval_db[0],
                 lambda wire: interval(list(wire.interval_db)), True),
    ChoiceColumn("price", "price a m", lambda wire: wire.price_per_m, lambda wire: money(wire.price_per_m)),
    ChoiceColumn("element", "price of element", lambda wire: wire.price_of_element,
                 lambda wire: money(wire.price_of_element)),
    _of("mass", "g a m", lambda wire: wire.mass_g_per_m),
    ChoiceColumn("weather", "lasts years", lambda wire: wire.corrosion.years[0] if wire.corrosion.years else None,
                 _years, True),
    ChoiceColumn("handling", "handling 1…5", lambda wire: wire.handling,
                 lambda wire: "–" if wire.handling is None else f"{wire.handling:g} ({wire.handling_ticks})", True),
    ChoiceColumn("minutes", "min a swap", lambda wire: wire.minutes_per_swap,
                 lambda wire: "–" if wire.minutes_per_swap is None
                 else f"{amount(wire.minutes_per_swap)} ({wire.swaps_timed})"),
    _of("breaking-load", "breaks at N", lambda wire: wire.breaking_load_n, True, True),
    _of("sag", "sag m", lambda wire: wire.load.sag_m, False, True),
    _of("pull", "pull N", lambda wire: wire.load.tension_n, False, True),
    _of("factor", "safety factor", lambda wire: wire.load.safety_factor, True, True),
    _of("wind", "gust N a m", lambda wire: wire.load.wind_n_per_m, False, True),
    _of("pull-in-gust", "pull in gust N", lambda wire: wire.load.tension_in_wind_n, False, True),
    _of("factor-in-gust", "factor in gust", lambda wire: wire.load.safety_factor_in_wind, True, True),
)
"""All columns, in the order in which they are shown."""

SORT_KEYS: tuple[str, ...] = tuple(column.key for column in CHOICE_COLUMNS if column.key != "between")
"""What the table can be sorted by."""


def filled_columns(choice: Choice) -> tuple[ChoiceColumn, ...]:
    """Return the columns that hold something for at least one wire."""
    return tuple(column for column in CHOICE_COLUMNS if any(column.value(wire) is not None for wire in choice.wires))


def sorted_wires(choice: Choice, sort: str | None = None) -> tuple[Wire, ...]:
    """Return the wires by standing, within each by a column; wires without a number come last."""
    if sort is None:
        return choice.wires
    column = next(column for column in CHOICE_COLUMNS if column.key == sort)
    places = list(STANDINGS)

    def key(wire: Wire) -> tuple[int, bool, float]:
        value = column.value(wire)
        number = 0.0 if value is None else -value if column.high_first else value
        return places.index(wire.standing), value is None, number

    return tuple(sorted(choice.wires, key=key))


def choice_table(choice: Choice, sort: str | None = None, loads: bool | None = None) -> pd.DataFrame:
    """Return the table as text.

    Parameters
    ----------
    choice : Choice
    sort : str, optional
        One of `SORT_KEYS`; left out: from the strongest down.
    loads : bool, optional
        Only the columns that speak of loads, or only the others; left out: all.

    Returns
    -------
    DataFrame of str
        ``wire``, ``standing`` and the filled columns.
    """
    columns = [column for column in filled_columns(choice) if loads is None or column.loads == loads]
    rows = [[wire.name, wire.standing, *(column.text(wire) for column in columns)]
            for wire in sorted_wires(choice, sort)]
    return pd.DataFrame(rows, columns=["wire", "standing", *(column.head for column in columns)])
