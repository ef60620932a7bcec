"""What to do with the numbers of a trim: steps for the bench, and what to be wary of."""

from __future__ import annotations

import re
from collections.abc import Sequence

from antexp.field.trimmed import Trim
from antexp.notices import Notice
from antexp.plan.model import Plan

FIRST_CUT = 0.7
"""Part of the cut to make before measuring again (common practice, no source)."""

CLOSE_ENOUGH_M = 0.005
"""A cut below this is within what a tape and a knot can do (judgement, no source)."""

HEIGHT_APART_M = 0.5
"""Measured further than this from the test's height is another antenna (judgement, no source)."""

LEAST_COST_DB = 0.05
"""Below this a mistuning is not worth a warning (judgement, no source)."""

FAR_OFF = 0.2
"""Off by this part of the target the first-order formulas say nothing (judgement, no source)."""

_BEHIND_A_LINE = re.compile(r"\b(line|coax|cable|feeder|shack|station|radio end|far end)\b", re.IGNORECASE)

PRACTICE = (
    "Wear eye protection and gloves: hard wire springs when it is let go.",
    "Fold the end back on itself and tie it before you cut: folded wire can be unfolded, cut wire cannot.",
    "Cut part of the way, hang it up as in the test, measure again, then cut the rest.",
    "Count the offcuts out and in: none stays in the grass, where animals eat it and mowers throw it.",
)
"""Safe practice at the bench (common practice, no source)."""

BOTH_LEGS = "Cut both legs alike."
"""Of a dipole."""


def is_far_off(trim: Trim) -> bool:
    """Tell whether a resonance lies so far off that a cut may not follow from it."""
    return trim.resonance_mhz is not None and abs(trim.resonance_mhz / trim.target_mhz - 1.0) > FAR_OFF


def is_behind_a_line(where: str) -> bool:
    """Tell whether the place of a measurement says that the analyser did not stand at the feed."""
    return _BEHIND_A_LINE.search(where) is not None


def bench_list(trims: Sequence[Trim], plan: Plan) -> list[str]:
    """Return the steps for the bench, each to be ticked.

    Returns
    -------
    list of str
        Safe practice first, then one step a specimen.
    """
    vertical = plan.radio.element == "quarter-wave vertical"
    practice = PRACTICE if vertical else (*PRACTICE, BOTH_LEGS)
    return [*practice, *(_step(trim, "the wire" if vertical else "each leg") for trim in trims)]


def _step(trim: Trim, leg: str) -> str:
    """Return the step of one specimen."""
    who = f"“{trim.name}”, specimen {trim.specimen}"
    if trim.cut_m is None:
        return f"{who}: begin with {trim.new_leg_m:.3f} m for {leg}, longer rather than shorter, and measure."
    if is_far_off(trim):
        return (f"{who}: cut nothing yet: {trim.resonance_mhz:g} MHz is more than {100 * FAR_OFF:.0f} % off. Look "
                "whether it is the right antenna, connected, and the right dip of the curve; measure again.")
    if abs(trim.cut_m) < CLOSE_ENOUGH_M:
        return f"{who}: leave it ({1000 * trim.cut_m:+.0f} mm would be right); measure once more at the test's height."
    if trim.cut_m < 0:
        return (f"{who}: too short by {-trim.cut_m:.3f} m for {leg}; unfold, or add wire with a joint that carries "
                "current as well as the wire does, and measure again.")
    return (f"{who}: fold back {trim.cut_m:.3f} m of {leg}; when it measures right cut {FIRST_CUT * trim.cut_m:.3f} m, "
            f"measure again, then cut the rest to {trim.new_leg_m:.3f} m.")


def trim_notices(trims: Sequence[Trim], plan: Plan) -> list[Notice]:
    """Return what may make the measured resonance another than that of the test."""
    measured = [trim for trim in trims if trim.cut_m is not None]
    notices = []
    if measured:
        notices += _height_notices(measured, plan)
    behind = [trim for trim in measured if is_behind_a_line(trim.where)]
    if behind:
        notices.append(Notice("analyser-behind-line", f"The analyser was behind a line for {_who(behind)}: it does not "
                              "see the feed; measure at the feed, or through a line of whole half waves."))
    far = [trim for trim in measured if is_far_off(trim)]
    if far:
        notices.append(Notice("far-from-target", f"Resonance is more than {100 * FAR_OFF:.0f} % off the plan's "
                              f"{far[0].target_mhz:g} MHz for {_who(far)}: is it the right antenna, the right band?"))
    missing = [trim for trim in trims if trim.cut_m is None]
    if missing and measured:
        notices.append(Notice("not-measured", f"No resonance was measured for {_who(missing)}: the length given is one "
                              "to begin with, not one to hang."))
    return notices + _cost_notice(measured, plan)


def _height_notices(measured: Sequence[Trim], plan: Plan) -> list[Notice]:
    """Warn of resonances measured at another height than the test's, or at an unknown one."""
    test = plan.radio.height_m
    if test is None:
        return []
    apart = [trim for trim in measured if trim.height_m is not None and abs(trim.height_m - test) > HEIGHT_APART_M]
    unknown = [trim for trim in measured if trim.height_m is None]
    notices = []
    if apart:
        notices.append(Notice("bench-height", "Resonance was measured at another height than the test's "
                              f"{test:g} m for {_who(apart)}: near the ground it is usually lower than aloft."))
    if unknown:
        notices.append(Notice("bench-height", f"The height of the measurement is not noted for {_who(unknown)}: "
                              f"resonance near the ground is not that at {test:g} m."))
    return notices


def _cost_notice(measured: Sequence[Trim], plan: Plan) -> list[Notice]:
    """Warn when candidates are off by different amounts, which would look like a gap."""
    costs = [(trim.mistuning_cost_db, trim) for trim in measured if trim.mistuning_cost_db is not None]
    if not costs:
        return []
    worst, who = max(costs, key=lambda each: each[0])
    spread = worst - min(each[0] for each in costs) if len(costs) > 1 else worst
    limit = max(LEAST_COST_DB, 0.1 * (plan.question.matter_db or 0.0))
    if spread <= limit:
        return []
    return [Notice("mistuned", f"Left as they are, mistuning costs up to {worst:.2f} dB (“{who.name}”, specimen "
                   f"{who.specimen}) and differs by {spread:.2f} dB between antennas: it would look like a gap.")]


def _who(trims: Sequence[Trim]) -> str:
    """Name specimens."""
    return ", ".join(f"“{trim.name}” ({trim.specimen})" for trim in trims)
