"""What `check` prints: of a plan the range, the assumptions and the cautions; of a record its doubts."""

from __future__ import annotations

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table
from rich.text import Text

from antexp.decibels import DB_PER_S_UNIT
from antexp.field.doubts import ReadingsCheck
from antexp.plan.range_check import RangeCheck
from antexp.plan.range_numbers import RangeFacts
from antexp.report.narrow_tables import print_table
from antexp.report.printed import print_answer, print_heading, print_indented, print_points

_FACTS: tuple[tuple[str, str, str], ...] = (
    ("wavelength_m", "wavelength", "m"),
    ("distance_m", "distance of the ends", "m"),
    ("far_field_m", "far field from", "m"),
    ("place_spacing_wavelengths", "distance of the places", "wavelengths"),
    ("free_space_loss_db", "loss in free space", "dB"),
    ("ground_factor_db", "what the ground adds to that field", "dB"),
    ("expected_level_dbm", "level to expect", "dBm"),
    ("noise_level_dbm", "noise in the meter's bandwidth", "dBm"),
    ("thermal_noise_dbm", "of which the receiver's own at least", "dBm"),
    ("signal_to_noise_db", "signal to noise", "dB"),
    ("reading_scatter_floor_db", "reading scatter that noise alone makes", "dB"),
    ("noise_bias_db", "by how much noise lifts a mean reading", "dB"),
    ("rounding_sd_db", "scatter that the meter's step makes", "dB"),
    ("height_slope_db_per_m", "level against height", "dB per m"),
    ("geometric_rehang_sd_db", "re-hanging scatter from geometry alone", "dB"),
)


def print_range_check(check: RangeCheck, console: Console | None = None) -> None:
    """Print the check of a plan.

    Parameters
    ----------
    check : RangeCheck
    console : Console, optional
        Where to; left out: standard output.
    """
    console = print_answer(f"{check.title or 'The plan'}: {check.verdict}.", console)
    print_points(console, [*check.why])
    print_heading(console, "The range")
    print_table(console, _fact_table(check.range))
    if check.expected.sentences:
        print_heading(console, "What physics expects of the candidates")
        print_points(console, list(check.expected.sentences))
    others = [notice.text for notice in check.warnings if notice.text not in check.why]
    print_points(console, others)
    if check.assumptions:
        print_heading(console, "What the plan leaves to antexp")
        print_points(console, list(check.assumptions))
    print_heading(console, "Cautions; local codes and licensed practice go first")
    print_points(console, [caution.text for caution in check.cautions])


def print_readings_check(check: ReadingsCheck, console: Console | None = None) -> None:
    """Print the check of a readings file; its faults are printed with all other faults, not here.

    Parameters
    ----------
    check : ReadingsCheck
    console : Console, optional
        Where to; left out: standard output.
    """
    size = f"{check.readings} readings of {check.swaps} swaps in {check.blocks} block(s)"
    console = print_answer(f"{check.name}: can be judged. {size}." if not check.faults else
                           f"{check.name}: {len(check.faults)} thing(s) to mend before it can be judged.", console)
    if check.hangings:
        hung = ", ".join(f"{name} {times}" for name, times in check.hangings.items())
        console.print(Text(f"Hangings: {hung}."))
    for doubt in check.doubts:
        print_points(console, [doubt.text])
        print_indented(console, [doubt.effect], style="dim", indent=4)
    if not check.doubts and not check.faults:
        console.print("Nothing in it asks for a second look.")


def _fact_table(facts: RangeFacts) -> Table:
    """Return the numbers that are known as a table."""
    table = Table("what", box=SIMPLE_HEAD, pad_edge=False, show_header=False)
    table.add_column("value", justify="right", no_wrap=True)
    for key, name, unit in _FACTS:
        value = getattr(facts, key)
        if value is not None:
            table.add_row(name, f"{_number(value)} {unit}")
        if key == "expected_level_dbm" and facts.expected_level_db_over_s9 is not None:
            table.add_row("the same on an S meter", s_reading(facts.expected_level_db_over_s9))
    for name, sag in (facts.sag_m or {}).items():
        gap = (facts.sag_gap_db or {}).get(name)
        share = "" if gap is None else f", {_number(gap)} dB"
        table.add_row(f"sag of “{name}”", f"{_number(sag)} m{share}")
    return table


def s_reading(over_s9_db: float) -> str:
    """Write a level as an S meter shows it, from its distance to S9 in dB: 6 dB a unit, S1 the lowest.

    References
    ----------
    IARU Region 1 Technical Recommendation R.1.
    """
    if over_s9_db >= 0.5:
        return f"S9+{over_s9_db:.0f}"
    unit = round(9 + over_s9_db / DB_PER_S_UNIT)
    return f"S{unit}" if unit >= 1 else "below S1"


def _number(value: float) -> str:
    """Write a number of the range: whole where it is large, two digits where it is small."""
    text = f"{value:.0f}" if abs(value) >= 20 else f"{value:.1f}" if abs(value) >= 2 else f"{value:.2f}"
    return text.replace("-", "−")
