"""What an expectation means for the plan, in plain words."""

from __future__ import annotations

from collections.abc import Sequence

from antexp.notices import Notice
from antexp.plan.expected_loss import ExpectedLoss
from antexp.plan.model import Plan
from antexp.radio.element import wavelength_m

SHORT_PERCENT = 0.5
"""From here a wire cut to the length of a copper one is off by more than a usual trim (judgement, no source)."""

MISMATCH_WORTH_DB = 0.1
"""Below this a difference of mismatch is not worth a word (judgement, no source)."""

LOW_WAVELENGTHS = 0.2
"""Below this height the image takes much of the radiation resistance away (chart of the dipole over ground)."""


def expectation_sentences(plan: Plan, expected: Sequence[ExpectedLoss], detectable_db: float | None) -> list[str]:
    """Say which candidates physics expects to separate, and which not.

    Parameters
    ----------
    plan : Plan
    expected : sequence of ExpectedLoss
    detectable_db : float or None, dB
        The true gap that the day as planned notices; None leaves matter_db as the only measure.
    """
    return [*_reference_sentence(plan, expected), *separation_sentences(plan, expected, detectable_db),
            *(_mismatch_sentence(each, plan) for each in expected if each.mismatch_loss_db is not None)]


def separation_sentences(plan: Plan, expected: Sequence[ExpectedLoss], detectable_db: float | None) -> list[str]:
    """Say which candidates will separate by their metal and which not (parameters as `expectation_sentences`)."""
    known = [each for each in expected if each.gap_to_reference_db is not None and each.name != plan.reference]
    sentences: list[str] = []
    limit = detectable_db if detectable_db is not None else plan.question.matter_db
    if limit is not None:
        together = [each for each in known if _furthest(each) < limit]
        apart = [each for each in known if each not in together]
        sentences += _together_sentence(plan, together, detectable_db)
        sentences += _mismatch_among(plan, expected, together)
    else:
        apart = known
    return sentences + [_apart_sentence(each, plan.reference, limit, detectable_db is not None) for each in apart]


def expectation_notices(plan: Plan, expected: Sequence[ExpectedLoss]) -> list[Notice]:
    """Return what to see to before the day, as warnings."""
    notices = []
    silent = [each for each in expected if each.missing]
    if silent:
        keys = sorted({key for each in silent for key in each.missing})
        notices.append(Notice("physics-silent", f"Physics says nothing about {_names(silent)}: "
                              f"the plan does not give {', '.join(keys)}."))
    short = [each for each in expected if (each.shortening_percent or 0.0) > SHORT_PERCENT]
    if short:
        notices.append(Notice("resonates-short", "; ".join(
            f"“{each.name}” resonates about {each.shortening_percent:.1f} % short because of its own metal"
            for each in short) + ": trim each candidate by itself."))
    covered = [candidate for candidate in plan.candidates if candidate.insulation_mm is not None]
    if covered:
        notices.append(Notice("cover-not-in-physics", f"The cover of {_names(covered)} shortens the resonant wire by "
                              "about 1.5 to 3.5 % (common practice); loss in the cover is not part of the numbers."))
    return notices + _mismatch_notice(expected) + _height_notice(plan)


def _reference_sentence(plan: Plan, expected: Sequence[ExpectedLoss]) -> list[str]:
    """State the reference's own loss, from which the gaps are counted."""
    for each in expected:
        if each.name == plan.reference and each.conductor_loss_db is not None and each.conductor_loss_range_db:
            return [f"The reference, “{each.name}”, loses {each.conductor_loss_db:.2f} dB in its own wire "
                    f"({_span(each.conductor_loss_range_db)})."]
    return []


def _together_sentence(plan: Plan, together: list[ExpectedLoss], detectable_db: float | None) -> list[str]:
    """Say of the candidates near the reference that they will not separate, and whether that matters."""
    if not together:
        return []
    gaps = [0.0, *(each.gap_to_reference_db or 0.0 for each in together)]
    furthest = max(map(_furthest, together))
    who = _names([plan.reference, *together])
    between = f"{max(gaps) - min(gaps):.2f} dB between {who} (at most {furthest:.2f} dB from the reference)"
    matter = plan.question.matter_db
    if detectable_db is None:
        return [f"Physics expects {between}: less than the {matter:g} dB that matters."]
    if matter is None:
        return [f"This plan notices {detectable_db:.2f} dB; physics expects {between}: they will not separate."]
    need = "need not" if furthest < matter else ("the gap might matter: more repeats, or fewer candidates, would be "
                                                 "needed to see it")
    return [f"This plan notices {detectable_db:.2f} dB; physics expects {between}: they will not separate, and {need}."]


def _mismatch_among(plan: Plan, expected: Sequence[ExpectedLoss], together: list[ExpectedLoss]) -> list[str]:
    """Warn that candidates of like metal may separate by their mismatch."""
    names = {plan.reference, *(each.name for each in together)}
    losses = [each.mismatch_loss_db for each in expected if each.name in names and each.mismatch_loss_db is not None]
    apart = max(losses) - min(losses) if together and len(losses) > 1 else 0.0
    if apart < MISMATCH_WORTH_DB:
        return []
    return [f"That is their metal; their mismatch differs by {apart:.2f} dB as used: trim and match them first."]


def _apart_sentence(each: ExpectedLoss, reference: str, limit: float | None, planned: bool) -> str:
    """Say of one candidate how far from the reference it is expected, and whether that will show."""
    gap, (low, high) = each.gap_to_reference_db or 0.0, each.gap_to_reference_range_db or (0.0, 0.0)
    direction = "weaker" if gap < 0 else "stronger"
    text = f"Physics expects “{each.name}” {abs(gap):.2f} dB {direction} than “{reference}” ({_span((low, high))} dB)"
    if limit is None:
        return f"{text}."
    nearest = 0.0 if low <= 0 <= high else min(abs(low), abs(high))
    if planned:
        shows = "this plan should notice it" if nearest >= limit else "this plan may or may not notice it"
    else:
        shows = "enough to matter" if nearest >= limit else "it may or may not matter"
    return f"{text}: {shows}."


def _mismatch_sentence(each: ExpectedLoss, plan: Plan) -> str:
    """State a candidate's mismatch loss, which stands apart from its metal."""
    uncertainty = f"standard uncertainty {each.mismatch_uncertainty_db:.2f}"
    return (f"“{each.name}” loses {each.mismatch_loss_db:.2f} dB ({uncertainty}) to mismatch at the "
            f"{plan.radio.swap_end} end, apart from its metal.")


def _mismatch_notice(expected: Sequence[ExpectedLoss]) -> list[Notice]:
    """Warn when the candidates differ more by mismatch than by metal."""
    matched = [each.mismatch_loss_db for each in expected if each.mismatch_loss_db is not None]
    metal = [each.conductor_loss_db for each in expected if each.conductor_loss_db is not None]
    if len(matched) < 2 or len(metal) < 2:
        return []
    by_match, by_metal = max(matched) - min(matched), max(metal) - min(metal)
    if by_match <= max(by_metal, MISMATCH_WORTH_DB):
        return []
    return [Notice("mismatch-larger-than-gap", f"Mismatch differs by {by_match:.2f} dB between candidates, their metal "
                   f"by {by_metal:.2f} dB: trim and match first, or the gap will be about trim.")]


def _height_notice(plan: Plan) -> list[Notice]:
    """Warn of a horizontal dipole close to the ground."""
    radio = plan.radio
    if radio.frequency_mhz is None or radio.height_m is None or radio.element != "half-wave dipole":
        return []
    height = radio.height_m / float(wavelength_m(radio.frequency_mhz))
    if radio.polarisation == "vertical" or height >= LOW_WAVELENGTHS:
        return []
    return [Notice("low-dipole", f"The dipole hangs {height:.2f} wavelengths high: its radiation resistance, and with "
                   "it every expected loss, is uncertain; the range says so.")]


def _furthest(each: ExpectedLoss) -> float:
    """Return how far from the reference a candidate may be."""
    return max(map(abs, each.gap_to_reference_range_db or (0.0,)))


def _span(limits: tuple[float, float]) -> str:
    return f"{limits[0]:.2f} to {limits[1]:.2f}".replace("-", "−")


def _names(some: Sequence[object]) -> str:
    names = [str(getattr(each, "name", each)) for each in some]
    quoted = [f"“{name}”" for name in names]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} and {quoted[-1]}"
