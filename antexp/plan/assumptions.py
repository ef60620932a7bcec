"""Every default that a plan leaves to antexp, read back as a sentence with the key that changes it."""

from __future__ import annotations

from antexp.plan.model import Candidate, Field, Meter, Plan, Question, Radio

Said = list[tuple[str, str]]
"""Plan keys with what is assumed of each."""


def assumptions(plan: Plan, meter_word: str = "") -> tuple[str, ...]:
    """Return what the plan leaves out and antexp fills in, a sentence each.

    Parameters
    ----------
    plan : Plan
        With its defaults filled in and `Plan.stated` telling which keys are the user's own.
    meter_word : str
        The word that stood for the meter's table.
    """
    said: Said = [("reference", f'that "{plan.reference}", the first named, is the reference')]
    said += _question(plan.question) + _field(plan.field)
    said += _meter(plan.meter)
    if plan.radio.frequency_mhz is not None:
        said += _radio(plan.radio)
    said = [(key, text) for key, text in said if not plan.states(key)] + _candidates(plan)
    because = f', from the word "{meter_word}", common practice' if meter_word else ""
    return tuple(
        f"I assume {text} (plan key {key}{because if key.startswith('meter.') and key != 'meter.readings' else ''})."
        for key, text in said
    )


def _question(question: Question) -> Said:
    """Return the defaults of the question."""
    asked = {
        "reference": "that each candidate is compared with the reference",
        "each-other": "that all candidates are compared with each other",
        "best": "that the best is looked for",
    }
    return [
        ("question.compare", asked[question.compare]),
        ("question.matter_db", "no gap that matters, so nothing can be said about whether a gap matters"),
        ("question.confidence", f"a confidence of {question.confidence:g} for all comparisons together"),
        ("question.chance", f"a wanted chance of {question.chance:g} of noticing a true gap that matters"),
    ]


def _field(field: Field) -> Said:
    """Return the defaults of hours, swaps and spreads."""
    return [
        *_time(field),
        ("field.minutes_per_swap", f"{field.minutes_per_swap:g} minutes a swap"),
        ("field.rehang_sd_db", f"a re-hanging scatter of {field.rehang_sd_db:g} dB: about two hangings in three "
         "lie within plus or minus that"),
        ("field.specimen_sd_db", f"a scatter of {field.specimen_sd_db:g} dB between specimens of one candidate"),
        ("field.drift_db_per_hour", f"a drift of about {field.drift_db_per_hour:g} dB an hour"),
        ("field.wander_db_per_sqrt_hour", "no wandering of the path beside that drift"),
        ("field.drift", "a steady drift, a straight line, inside each block"),
        ("field.reference_every", "a reference swap at both ends of every block, and inside it where the "
         "square-root rule asks"),
        ("field.places", "one place to hang the antennas"),
        ("field.may_stop_after", "that nobody looks at the answer before the end"),
        ("field.blind", "that the reading end learns no names"),
        ("field.seed", f"seed {field.seed} for the draw of the order"),
    ]


def _time(field: Field) -> Said:
    """Return the defaults of blocks and hours."""
    said: Said = []
    if field.minutes_available is not None:
        limit = "the sittings" if field.sittings else f"{field.hours:g} hours"
        said.append(("field.blocks", f"as many blocks as fit {limit}"))
    else:
        said.append(("field.blocks", "as many blocks as the wanted chance takes"))
        if field.blocks is None:
            said.append(("field.hours", "no limit of hours"))
    said.append(("field.block_minutes", f"blocks of at most {field.block_minutes:.4g} minutes"))
    return said


def _meter(meter: Meter) -> Said:
    """Return the defaults of the meter; what it has none of is not assumed."""
    scales = {
        "dBm": "levels in dBm, higher is stronger",
        "minus dBm": "levels in dBm written without their minus sign",
        "dB": "levels in dB, higher is stronger",
        "attenuator": "levels as attenuator settings, more is stronger",
        "S units": "levels in S units of 6 dB",
    }
    step = "no step of the display" if meter.step_db is None else f"a display step of {meter.step_db:g} dB"
    said = [("meter.scale", scales[meter.scale]), ("meter.step_db", step)]
    if meter.bandwidth_hz is not None:
        said.append(("meter.bandwidth_hz", f"a receiver bandwidth of {meter.bandwidth_hz:g} Hz"))
    return [
        *said,
        ("meter.reading_sd_db", f"a scatter of {meter.reading_sd_db:g} dB between readings of one swap"),
        ("meter.readings", f"{meter.readings} readings a swap"),
    ]


def _radio(radio: Radio) -> Said:
    """Return the defaults of band, antenna and path."""
    said = [("radio.element", f"a {radio.element}")]
    if radio.element == "quarter-wave vertical":
        said.append(("radio.ground_loss_ohm", f"{radio.ground_loss_ohm:g} ohms of loss in ground and radials, "
                     "common practice is 4 to 25"))
    return [
        *said,
        ("radio.source_impedance_ohm", f"a source of {radio.source_impedance_ohm:g} ohms"),
        ("radio.swap_end", f"that antennas are exchanged at the {radio.swap_end} end"),
        ("radio.polarisation", f"{radio.polarisation} polarisation"),
    ]


def _candidates(plan: Plan) -> Said:
    """Return the defaults of the candidates, naming whom they concern where it is not all."""
    said: Said = []
    single = [candidate for candidate in plan.candidates if "specimens" not in candidate.model_fields_set]
    if single:
        said.append(("candidates.specimens", f"one specimen of {_whom(single, plan)}"))
    solid = [candidate for candidate in plan.candidates
             if candidate.diameter_mm is not None and "strands" not in candidate.model_fields_set]
    if solid:
        said.append(("candidates.strands", f"solid wire in {_whom(solid, plan)}"))
    plain = [candidate for candidate in plan.candidates
             if candidate.resistivity_ohm_m is not None and candidate.relative_permeability is None]
    if plain:
        said.append(("candidates.relative_permeability", f"a metal that is not magnetic in {_whom(plain, plan)}"))
    return said


def _whom(some: list[Candidate], plan: Plan) -> str:
    """Return the names of some candidates, or that it is all of them."""
    if len(some) == len(plan.candidates):
        return "each candidate"
    return ", ".join(f'"{candidate.name}"' for candidate in some)
