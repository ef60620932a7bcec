"""The reference page of every constant that antexp takes from outside, made from the tables in the code.

Run ``python -m antexp.report.constants_page > docs/reference/constants.md`` after a change; a test compares the two.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from antexp import decibels
from antexp.analysis import match_losses
from antexp.field import trim, trim_advice
from antexp.plan import cautions, expected_sentences, radio, range_questions
from antexp.plan.corrosion import CORROSION_CONSTANTS
from antexp.plan.range_facts import RANGE_CONSTANTS
from antexp.radio.coated_wire import COATING_CONSTANTS
from antexp.radio.conductors import CONDUCTOR_CONSTANTS
from antexp.radio.constants import NATURE, Constant, Standing
from antexp.radio.element import ELEMENT_CONSTANTS
from antexp.radio.exposure import EXPOSURE_CONSTANTS
from antexp.radio.gap_budget import BUDGET_CONSTANTS
from antexp.radio.materials import MATERIALS
from antexp.radio.mismatch import MISMATCH_CONSTANTS
from antexp.radio.path import PATH_CONSTANTS
from antexp.radio.receiver import RECEIVER_CONSTANTS
from antexp.radio.sag import SAG_CONSTANTS
from antexp.radio.wind import WIND_CONSTANTS

_HEAD = """# Constants, their ranges and their sources

Every number that antexp takes from outside, made from the tables in its code. Where a constant is uncertain it has a
range; `antexp expect` carries the ranges through to its answers (all combinations of low, middle and high), so that
an expected gap is never more certain than its metal.

How a number is founded: *standard* (read in a published standard), *handbook* (tables and textbooks that agree),
*from memory* (recalled, not looked up again), *common practice, no source* (customary among people who do this) and
*judgement, no source* (our own). A number of the last three kinds is as good as your own better one: state it in the
plan (`resistivity_ohm_m`, `relative_permeability`, `ground_loss_ohm`, `permittivity`, `conductivity_s_per_m`).
"""

_R1 = "IARU Region 1 Technical Recommendation R.1"
_JUDGED: Standing = "judgement, no source"
_COMMON: Standing = "common practice, no source"


def _fixed(name: str, value: float, unit: str, source: str, standing: Standing) -> Constant:
    return Constant(name, value, value, value, unit, source, standing)


_S_METER = (
    _fixed("S9 below 30 MHz", decibels.S9_DBM_BELOW_30_MHZ, "dBm", _R1, "standard"),
    _fixed("S9 above 144 MHz", decibels.S9_DBM_ABOVE_144_MHZ, "dBm", _R1, "standard"),
    _fixed("one S unit", decibels.DB_PER_S_UNIT, "dB", _R1, "standard"),
)

_RULES = (
    _fixed("check: signal over noise below which a range is not fit", range_questions.LEAST_SIGNAL_TO_NOISE_DB, "dB",
           "a reading scatters by 1.8 dB there", _JUDGED),
    _fixed("check: signal over noise without caution", range_questions.GOOD_SIGNAL_TO_NOISE_DB, "dB",
           "a reading scatters by 0.6 dB there", _JUDGED),
    _fixed("check: field against free space, called a null", range_questions.DEEP_NULL_DB, "dB", "", _JUDGED),
    _fixed("check: slope with height, called steep", range_questions.STEEP_DB_PER_M, "dB/m", "", _JUDGED),
    _fixed("check: gap from sag over matter_db, worth a word", range_questions.SAG_PART_OF_MATTER, "", "", _JUDGED),
    _fixed("check: pull over breaking load", range_questions.SAFE_PULL, "", "", _COMMON),
    _fixed("expect: shortening by the metal itself, worth a word", expected_sentences.SHORT_PERCENT, "%", "", _JUDGED),
    _fixed("expect: difference of mismatch, worth a word", expected_sentences.MISMATCH_WORTH_DB, "dB", "", _JUDGED),
    _fixed("expect: height of a dipole in wavelengths, below it called low", expected_sentences.LOW_WAVELENGTHS, "",
           "chart of the dipole's resistance over ground", "handbook"),
    _fixed("plan: ground loss of a vertical where none is stated", radio.COMMON_GROUND_LOSS_OHM, "Ω",
           "4 to 25 Ω for a few to many radials", _COMMON),
    _fixed("judge: what antennas are connected to where no plan says it", match_losses.COMMON_SOURCE_OHM, "Ω", "",
           _COMMON),
    _fixed("cautions: power from which people are kept at a distance", cautions.FEW_WATTS, "W", "", _COMMON),
    _fixed("trim: part of the cut before measuring again", trim_advice.FIRST_CUT, "", "", _COMMON),
    _fixed("trim: cut that is left", trim_advice.CLOSE_ENOUGH_M, "m", "", _JUDGED),
    _fixed("trim: measured so far from the test's height, warned of", trim_advice.HEIGHT_APART_M, "m", "", _JUDGED),
    _fixed("trim: off the target by more, warned of and not reckoned", trim_advice.FAR_OFF, "", "", _JUDGED),
    _fixed("trim: new leg over measured leg, beyond which a line is refused", trim.LONGEST_STEP, "", "", _JUDGED),
    _fixed("trim: heights that belong to one line", trim.SAME_HEIGHT_M, "m", "", _JUDGED),
    _fixed("trim: least mistuning worth a warning", trim_advice.LEAST_COST_DB, "dB", "", _JUDGED),
)


def constant_groups() -> dict[str, Sequence[Constant]]:
    """Return every constant by the heading it stands under."""
    metals = tuple(value for metal in MATERIALS.values()
                   for value in (metal.resistivity_ohm_m, metal.temperature_coefficient_per_k,
                                 metal.relative_permeability))
    return {
        "Metals": metals,
        "Wires": (*CONDUCTOR_CONSTANTS, *COATING_CONSTANTS),
        "Elements": ELEMENT_CONSTANTS,
        "Mismatch and gap budget": (*MISMATCH_CONSTANTS, *BUDGET_CONSTANTS),
        "Path and grounds": PATH_CONSTANTS,
        "Noise": RECEIVER_CONSTANTS,
        "S meter": _S_METER,
        "Hanging": (*RANGE_CONSTANTS, *SAG_CONSTANTS, *WIND_CONSTANTS),
        "Weather": CORROSION_CONSTANTS,
        "Exposure": EXPOSURE_CONSTANTS,
        "Rules of thumb": _RULES,
        "Nature and convention": NATURE,
    }


def constants_page() -> str:
    """Return the page as Markdown."""
    parts = [_HEAD]
    for heading, constants in constant_groups().items():
        rows = [f"| {each.name} | {_number(each.value)} | {_range(each)} | {each.unit or '1'} | {each.source or '–'} | "
                f"{each.standing} |" for each in constants]
        parts.append("\n".join([f"## {heading}\n", "| what | value | range | unit | source | founded on |",
                                "|---|---|---|---|---|---|", *rows]) + "\n")
    return "\n".join(parts)


def _number(value: float) -> str:
    """Write a number with the digits it has."""
    return f"{value:.10g}" if abs(value) > 1e6 or 0 < abs(value) < 1e-9 else f"{value:.4g}"


def _range(constant: Constant) -> str:
    """Write a range; a dash where there is none."""
    return "–" if constant.low == constant.high else f"{_number(constant.low)} … {_number(constant.high)}"


if __name__ == "__main__":
    sys.stdout.write(constants_page())
