"""What is asked of a range, one question a function: each returns the troubles it finds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from antexp.notices import Notice
from antexp.plan.model import Plan
from antexp.plan.range_numbers import RangeFacts

LEAST_SIGNAL_TO_NOISE_DB = 10.0
"""Below this the scatter of a reading passes 1.8 dB and the first-order formulas fail (radio.receiver)."""

GOOD_SIGNAL_TO_NOISE_DB = 20.0
"""From here noise scatters one reading by 0.6 dB at most and biases it by nothing (radio.receiver)."""

DEEP_NULL_DB = -30.0
"""A field this far below free space is the rest of two rays that cancel (judgement, no source)."""

STEEP_DB_PER_M = 3.0
"""A slope at which a hand's breadth of height is a quarter of a dB (judgement, no source)."""

SAG_PART_OF_MATTER = 0.2
"""Share of matter_db above which a gap that goes with sag is worth a word (judgement, no source)."""

SAFE_PULL = 1 / 3
"""Part of the breaking load a wire is pulled with at most (common practice, no source)."""


@dataclass(frozen=True)
class Trouble:
    """One thing found.

    Attributes
    ----------
    notice : Notice
        What it is.
    fatal : bool
        Whether it makes the range unfit for the question.
    """

    notice: Notice
    fatal: bool = False


def troubles(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Return everything that speaks against a range, what makes it unfit first."""
    found = [trouble for question in _QUESTIONS for trouble in question(plan, facts)]
    return sorted(found, key=lambda trouble: not trouble.fatal)


def _trouble(code: str, text: str, *, fatal: bool = False) -> Trouble:
    return Trouble(Notice(code, text), fatal)


def _stated(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Name what the plan would have to say for the range to be judged at all."""
    radio = plan.radio
    ground = radio.ground or (radio.permittivity is not None and radio.conductivity_s_per_m is not None)
    wanted = {"radio.frequency_mhz": radio.frequency_mhz, "radio.distance_m": radio.distance_m,
              "radio.height_m": radio.height_m, "radio.receive_height_m": radio.receive_height_m,
              "radio.ground": ground or None, "radio.source_power_dbm": radio.source_power_dbm,
              "radio.noise": radio.noise, "meter.bandwidth_hz": plan.meter.bandwidth_hz}
    missing = [key for key, value in wanted.items() if value is None]
    if not missing:
        return []
    return [_trouble("range-not-stated", f"The plan does not give {', '.join(missing)}: what rests on that is left "
                     "unsaid.")]


def _far_field(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Compare the distance with the wavelength and the far field."""
    distance, far = facts.distance_m, facts.far_field_m
    if distance is None or facts.wavelength_m is None or far is None:
        return []
    if distance < facts.wavelength_m:
        return [_trouble("in-near-field", f"The ends are {distance:g} m apart, less than a wavelength "
                         f"({facts.wavelength_m:.1f} m): the antennas load each other, and the gap is about that. Go "
                         f"to {far:.0f} m or more.", fatal=True)]
    if distance < far:
        return [_trouble("short-of-far-field", f"The ends are {distance:g} m apart; the far field begins at about "
                         f"{far:.0f} m: position and shape count for more than they should.")]
    return []


def _noise(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Compare signal, noise and the scatter that was planned with."""
    ratio, floor, planned = facts.signal_to_noise_db, facts.reading_scatter_floor_db, plan.meter.reading_sd_db
    if ratio is None or floor is None:
        return []
    found = []
    if ratio < LEAST_SIGNAL_TO_NOISE_DB:
        found.append(_trouble("too-noisy", f"The signal is expected {ratio:.0f} dB over the noise; below "
                              f"{LEAST_SIGNAL_TO_NOISE_DB:.0f} dB a reading is mostly noise. Take more power, less "
                              "bandwidth or a shorter path.", fatal=True))
    elif ratio < GOOD_SIGNAL_TO_NOISE_DB:
        found.append(_trouble("noisy", f"The signal is expected {ratio:.0f} dB over the noise: one unaveraged reading "
                              f"scatters by {floor:.1f} dB. Average, or take more power."))
    if floor > planned:
        found.append(_trouble("reading-sd-below-floor", f"The plan reckons with {planned:g} dB between readings; noise "
                              f"alone makes {floor:.2f} dB of one unaveraged reading."))
    return found


def _step(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Compare the meter's step with the gap that matters."""
    step, matter = plan.meter.step_db, plan.question.matter_db
    if step is None or matter is None or step <= matter:
        return []
    if plan.meter.reading_sd_db < step / 2 and step > 2 * matter:
        return [_trouble("step-hides-gap", f"The meter's step of {step:g} dB is more than twice the {matter:g} dB that "
                         "matters, and readings scatter too little to average it out: use an attenuator or a finer "
                         "meter.", fatal=True)]
    return [_trouble("coarse-step", f"The meter's step of {step:g} dB is coarser than the {matter:g} dB that matters: "
                     "an attenuator in front of it reads finer.")]


def _ground(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Look for a null and a steep slope with height."""
    found = []
    factor, slope = facts.ground_factor_db, facts.height_slope_db_per_m
    if factor is not None and factor < DEEP_NULL_DB:
        found.append(_trouble("near-null", f"The ground takes {-factor:.0f} dB off the field in free space: direct and "
                              "reflected ray nearly cancel, and everything that moves moves the level. Go higher or "
                              "nearer."))
    if slope is not None and abs(slope) > STEEP_DB_PER_M:
        found.append(_trouble("steep-with-height", f"The level changes by {abs(slope):.1f} dB a metre of height: mark "
                              "the halyard and hang every wire to the mark."))
    return found


def _hanging(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Compare what geometry does at a re-hanging with what was planned."""
    geometric, planned = facts.geometric_rehang_sd_db, plan.field.rehang_sd_db
    if geometric is None or geometric <= planned:
        return []
    return [_trouble("rehang-sd-below-geometry", f"The plan reckons with {planned:g} dB between hangings; height, "
                     f"direction and sag alone make {geometric:.2f} dB.")]


def _sag(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Look at sag that goes with the wire, and at the pull."""
    found = []
    matter, pull = plan.question.matter_db, plan.field.tension_n
    heavy = {name: gap for name, gap in (facts.sag_gap_db or {}).items()
             if matter and abs(gap) > SAG_PART_OF_MATTER * matter}
    if heavy:
        each = ", ".join(f"{name} {'+' if gap > 0 else '−'}{abs(gap):.2f} dB" for name, gap in heavy.items())
        found.append(_trouble("sag-goes-with-wire", "Sag that goes with the wire makes a gap of its own at every "
                              f"hanging ({each} against the reference): pull each wire to the same sag."))
    weak = [candidate.name for candidate in plan.candidates
            if pull and candidate.breaking_load_n and pull > SAFE_PULL * candidate.breaking_load_n]
    if weak:
        found.append(_trouble("pulled-too-hard", f"A pull of {pull:g} N is more than a third of the breaking load of "
                              f"{', '.join(weak)}: pull less."))
    return found


def _places(plan: Plan, facts: RangeFacts) -> list[Trouble]:
    """Look at antennas that hang idle beside the one in use."""
    spacing = facts.place_spacing_wavelengths
    if plan.field.places < 2 or (spacing is not None and spacing >= 1.0):
        return []
    if spacing is None:
        return [_trouble("places-too-close", "There are several places and the plan does not say how far apart "
                         "(field.place_spacing_m): an idle antenna within a wavelength is a parasitic element. Lower "
                         "it or open its feed.")]
    return [_trouble("places-too-close", f"The places are {spacing:.2f} wavelengths apart: an idle antenna there is a "
                     "parasitic element. Lower it or open its feed, or go a wavelength apart.")]


_QUESTIONS: tuple[Callable[[Plan, RangeFacts], list[Trouble]], ...] = (
    _far_field, _noise, _step, _ground, _hanging, _sag, _places, _stated)
