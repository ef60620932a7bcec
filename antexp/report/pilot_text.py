"""The pilot in the terminal: go, or what to mend; the spreads for the plan."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from antexp.analysis.pilot_result import DECIDED_BY, Pilot, Slope
from antexp.analysis.setup_checks import PASSED, SetupCheck
from antexp.analysis.variance_limits import ScatterEstimate
from antexp.decibels import rounded_up_db
from antexp.report.numbers import decibels, degrees, percent
from antexp.report.printed import print_answer, print_indented

_TITLES = {"leakage": "Leakage past the antenna", "meter": "Meter", "hand": "Current on the feed line"}


def print_pilot(pilot: Pilot, console: Console | None = None) -> None:
    """Print what a pilot says."""
    console = print_answer(pilot_answer(pilot), console)
    print_indented(console, [_check(check) for check in pilot.checks])
    console.print()
    for sentence in pilot_sentences(pilot):
        console.print(Text(sentence))
    console.print("\nFor the plan:")
    console.print(Text(pilot.for_the_plan.rstrip()), soft_wrap=True)


def pilot_answer(pilot: Pilot) -> str:
    """Return the verdict as one sentence."""
    failed = [_TITLES[check.name].lower() for check in pilot.checks if check.status == DECIDED_BY.get(pilot.verdict)]
    return {
        "go": "Go: the set-up passed every check.",
        "mend": f"Mend first: {', '.join(failed)}.",
        "read again": f"Read again before you go: {', '.join(failed)}.",
        "go, not all tested": f"Go, but not everything was tested: {', '.join(failed)}.",
    }[pilot.verdict]


def pilot_sentences(pilot: Pilot) -> list[str]:
    """Return the spreads in words."""
    said = [_spread("Re-hanging", pilot.rehang, f"{pilot.hangings} hangings")]
    if pilot.reading is not None:
        said.append(_spread("Reading after reading", pilot.reading, f"{pilot.readings} readings"))
    for name, slope in (("Drift over the hangings", pilot.drift), ("Drift while standing still", pilot.still_drift)):
        if slope is not None:
            said.append(_slope(name, slope))
    return [*said, *pilot.remarks]


def _check(check: SetupCheck) -> str:
    """Write a check as a line."""
    seen = "" if check.measured_db is None else f" ({decibels(check.measured_db, signed=check.name == 'hand')} dB)"
    rest = f" Wanted: {check.wanted}. {check.do}" if check.status != PASSED else ""
    return f"{_TITLES[check.name]}: {check.status}{seen}.{rest}".rstrip()


def _spread(name: str, scatter: ScatterEstimate, basis: str) -> str:
    """Write a scatter with its limits."""
    return (f"{name} scatters by {decibels(scatter.sd_db)} dB (standard deviation, {basis}); "
            f"{percent(scatter.confidence)} limits {decibels(scatter.low_db)} to "
            f"{decibels(rounded_up_db(scatter.high_db))} dB, {degrees(scatter.degrees_of_freedom)} degrees of freedom.")


def _slope(name: str, slope: Slope) -> str:
    """Write a drift with its limits."""
    low, high = (decibels(value, signed=True) for value in (slope.low_db_per_hour, slope.high_db_per_hour))
    return f"{name}: {decibels(slope.db_per_hour, signed=True)} dB an hour ({low} to {high})."
