"""What to buy, in sentences: the electrical answer first, then what is left to choose by."""

from __future__ import annotations

from collections.abc import Callable

from antexp.analysis.choice import IN_THE_GROUP, OPEN, TOO_WEAK, WEAKER, Choice, Wire
from antexp.analysis.wire_loads import WANTED_FACTOR
from antexp.mixed.verdict import REAL
from antexp.report.numbers import amount, decibels, joined, money

DECIDE = ("Within the group the gaps no longer decide. Choose by what counts for you: antexp adds up no points, since "
          "nobody but you knows what a gram, a year or a coin is worth.")

_KEYS = {"price_per_m": "price", "mass_g_per_m": "mass", "breaking_load_n": "breaking load", "lives_where": "weather"}


def choice_answer(choice: Choice) -> str:
    """Return in one sentence which wires cannot be told apart, or that none can be named."""
    matter = choice.matter_db
    if matter is None:
        return ("No gap that matters was stated (matter_db, --matter), so no group can be named. These may still be "
                f"the best: {_quoted(choice.judgement.could_be_best)}.")
    group = choice.group
    if not group:
        return (f"No wire is sure to lie within {matter:g} dB of the best: the record is too short for that, or the "
                "set-up too rough.")
    if len(group) == 1:
        return f"One wire is sure to lie within {matter:g} dB of the best, whichever that is: {_quoted(group)}."
    if not any(wire.verdict in REAL for wire in choice.wires if wire.standing == IN_THE_GROUP):
        return (f"These {_count(len(group))} cannot be told apart; any gap between them is under {matter:g} dB: "
                f"{_quoted(group)}.")
    return (f"These {_count(len(group))} lie within {matter:g} dB of the best and of each other: {_quoted(group)}; "
            "some of the small gaps between them are real.")


def choice_sentences(choice: Choice) -> list[str]:
    """Return what is to be said of the wires outside the group, and what speaks for those inside."""
    said = [_outside(choice, OPEN), _outside(choice, WEAKER), _outside(choice, TOO_WEAK)]
    said.append("All this is against whichever wire is best, not against the reference, so that a wire can be near "
                "enough to the reference and still stay open here.")
    if len(choice.group) > 1:
        said += [DECIDE, *extremes(choice)]
    return [text for text in said if text]


def extremes(choice: Choice) -> list[str]:
    """Name the cheapest, lightest and strongest of the group, and the easiest to hang, where numbers were given."""
    group = [wire for wire in choice.wires if wire.name in choice.group]
    return [text for text in (
        _extreme("Cheapest", [(wire, wire.price_per_m) for wire in group], "{} a metre", low=True, write=money),
        _extreme("Lightest", [(wire, wire.mass_g_per_m) for wire in group], "{} g a metre", low=True),
        _extreme("Highest breaking load", [(wire, wire.breaking_load_n) for wire in group], "{} N", low=False),
        _extreme("Easiest to hang", [(wire, wire.handling) for wire in group], "{} of 5", low=False),
    ) if text]


def missing_keys(choice: Choice) -> str:
    """Say which keys of the plan would tell more about the group; empty when all are given."""
    group = [wire for wire in choice.wires if wire.name in choice.group] or list(choice.wires)
    given: dict[str, list[object]] = {
        "price_per_m": [wire.price_per_m for wire in group], "mass_g_per_m": [wire.mass_g_per_m for wire in group],
        "breaking_load_n": [wire.breaking_load_n for wire in group],
        "lives_where": [wire.corrosion.place for wire in group],
    }
    lacking = [f"{key} ({_KEYS[key]})" for key, values in given.items() if any(value is None for value in values)]
    return "" if not lacking else f"The plan's candidates could say more: {joined(lacking)}."


def span_sentence(choice: Choice) -> str:
    """Say for which span, pull and gust the loads are; what to give where there is none."""
    span = choice.span
    if span is None:
        return "For sag, pull and wind say how the wire is to hang: --span, --tension or --sag, --gust."
    if not has_loads(choice):
        return (f"Loads over {amount(span.span_m)} m: give mass_g_per_m, breaking_load_n and diameter_mm of the "
                "candidates in the plan.")
    how = (f"pulled to {amount(span.sag_m)} m of sag" if span.sag_m is not None else
           f"pulled with {amount(span.tension_n)} N" if span.tension_n is not None else
           "no pull given (--tension, --sag)")
    wind = "" if span.gust_m_per_s is None else (
        f", in a gust of {amount(span.gust_m_per_s)} m/s between fast ends (an upper bound; a weight or spring at the "
        "halyard holds the pull)")
    return f"Loads over {amount(span.span_m)} m, {how}{wind}."


def has_loads(choice: Choice) -> bool:
    """Tell whether anything is known of what a wire bears."""
    return any(value is not None for wire in choice.wires
               for value in (wire.breaking_load_n, wire.load.tension_n, wire.load.wind_n_per_m))


def weak_sentences(choice: Choice) -> list[str]:
    """Name the wires whose safety factor is under the customary one, or under one in the gust."""
    still = [wire.name for wire in choice.wires
             if wire.load.safety_factor is not None and wire.load.safety_factor < WANTED_FACTOR]
    blown = [wire.name for wire in choice.wires
             if wire.load.safety_factor_in_wind is not None and wire.load.safety_factor_in_wind < 1]
    said = []
    if still:
        wanted = f"{WANTED_FACTOR:g} in still air (common practice, no source)"
        said.append(f"Safety factor under {wanted}: {_quoted(still)}.")
    if blown:
        said.append(f"By this upper bound the gust breaks {_quoted(blown)} between fast ends.")
    return said


def corrosion_lines(choice: Choice) -> list[str]:
    """Return a line of corrosion for every wire that has one, the group first."""
    return [f"{wire.name}{_where(wire)}: {wire.corrosion.text}" for wire in choice.wires if wire.corrosion.text]


def handling_lines(choice: Choice) -> list[str]:
    """Return the remarks of the hanging end, wire by wire."""
    return [f"{wire.name}: {'; '.join(wire.handling_notes)}" for wire in choice.wires if wire.handling_notes]


def _where(wire: Wire) -> str:
    return f" ({wire.corrosion.place})" if wire.corrosion.place else ""


def _outside(choice: Choice, standing: str) -> str:
    """Say what is known of the wires of one standing outside the group."""
    wires = [wire for wire in choice.wires if wire.standing == standing]
    if not wires:
        return ""
    names, be = _quoted([wire.name for wire in wires]), "falls" if len(wires) == 1 else "fall"
    worst = decibels(-min(wire.interval_db[0] for wire in wires))
    matter = "" if choice.matter_db is None else f"{choice.matter_db:g} dB"
    if standing == OPEN:
        return (f"Still open: {names} may be the best, and may fall short of it by up to {worst} dB; more swaps would "
                "tell.")
    if standing == WEAKER:
        return (f"Weaker: {names} {be} short of the best, by up to {worst} dB; whether by {matter or 'what matters'} "
                "is open.")
    return f"Too weak: {names} {be} short of the best by {matter} or more."


def _extreme(word: str, values: list[tuple[Wire, float | None]], unit: str, low: bool,
             write: Callable[[float | None], str] = amount) -> str:
    """Name the wires with the lowest or highest number, where at least two have one."""
    known = [(wire.name, value) for wire, value in values if value is not None]
    if len(known) < 2:
        return ""
    best = (min if low else max)(value for _, value in known)
    names = [name for name, value in known if value == best]
    if len(names) == len(known):
        return ""
    return f"{word} of the group: {_quoted(names)} ({unit.format(write(best))})."


def _quoted(names: tuple[str, ...] | list[str]) -> str:
    return joined([f"“{name}”" for name in names])


def _count(number: int) -> str:
    words = ("", "", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
    return words[number] if number < len(words) else str(number)
