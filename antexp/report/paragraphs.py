"""The same result as a paragraph for a newsletter and as a methods paragraph for an article."""

from __future__ import annotations

from antexp.analysis.result import Judgement
from antexp.plan.expected_loss import LossCurves
from antexp.plan.model import Plan
from antexp.report.numbers import decibels, percent
from antexp.report.scope import scope_sentence
from antexp.report.sources import SOURCES
from antexp.report.statements import statements
from antexp.report.wording import findings

_FAMILY = {
    "reference": "each candidate was compared with the reference",
    "each-other": "all pairs were compared",
    "best": "each candidate was compared with the best of the others",
}


def newsletter(judgement: Judgement, plan: Plan | None = None) -> str:
    """Return a paragraph that a newsletter can print as it stands.

    Parameters
    ----------
    judgement : Judgement
    plan : Plan, optional
        Gives band and height their numbers.
    """
    times = f"{judgement.swaps} hangings in {judgement.blocks} block{'s' if judgement.blocks > 1 else ''}"
    warning = next(each for each in statements(judgement, plan)[::-1] if " best" in each.may_not)
    unquoted = warning.may_not.replace("“", "‘").replace("”", "’").removesuffix(".")
    return (f"We hung {len(judgement.candidates)} antenna wires again and again, {times}, and compared "
            f"{_against(judgement)}. {' '.join(findings(judgement))} {scope_sentence(judgement.family, plan)} "
            f"Please do not quote us with “{unquoted}”: {warning.why}.\n")


def methods(judgement: Judgement, plan: Plan | None = None) -> str:
    """Return a methods paragraph for an article, with what somebody needs to check it.

    Parameters
    ----------
    judgement : Judgement
    plan : Plan, optional
        Adds band, antenna and the planned order.
    """
    spread = judgement.spread
    within = "" if spread.reading_sd_db is None else (
        f", between readings of one hanging {decibels(spread.reading_sd_db)} dB")
    scatter = "" if spread.rehang_sd_db is None else (
        f" The standard deviation between hangings of one specimen was {decibels(spread.rehang_sd_db)} dB{within}.")
    any_specimen = (judgement.family["scope"] == "any specimen").all()
    provenance = judgement.provenance
    libraries = ", ".join(f"{name} {number}" for name, number in provenance.get("libraries", {}).items())
    return (
        f"{_set_up(plan, bool(provenance.get('order_sha256')))}{len(judgement.candidates)} candidates were exchanged "
        f"in {judgement.swaps} swaps in {judgement.blocks} block{'s' if judgement.blocks > 1 else ''}, "
        f"{judgement.readings} readings in all. The "
        "experimental unit is the swap: one hanging of one specimen; readings within a swap repeat the meter only. "
        f"Levels in dB were analysed by a linear mixed model with candidate, block and drift inside blocks "
        f"({judgement.drift.form}) fixed and swap random, fitted by restricted maximum likelihood with Kenward–Roger "
        f"standard errors and degrees of freedom [1]; {_FAMILY[judgement.compare]}, with limits that hold for all "
        f"comparisons together at {percent(judgement.confidence)} [2]."
        + (" Specimens were taken as a random draw." if any_specimen else
           " Conclusions concern the specimens used.")
        + f"{scatter} The largest half width of these limits was {decibels(judgement.resolution_db)} dB"
        + f"{_matter(judgement, plan)}. {_coarse(judgement)}"
        f"Computed with antexp {provenance.get('antexp')} ({libraries}). Digests (SHA-256): readings "
        f"{provenance.get('readings_sha256')}, plan {provenance.get('plan_sha256') or 'none'}.\n\n"
        f"[1] {SOURCES['model']}. [2] {SOURCES['best' if judgement.compare == 'best' else 'reference']}.\n")


def bands_sentence(curves: LossCurves, measured_mhz: float | None) -> str:
    """Say how far physics expects the wires apart at the ends of the HF bands; empty without at least two wires."""
    if len(curves.names) < 2:
        return ""
    apart = curves.loss_db.max(axis=1) - curves.loss_db.min(axis=1)
    low, high = curves.frequency_mhz[0], curves.frequency_mhz[-1]
    here = "one band" if measured_mhz is None else f"{measured_mhz:g} MHz"
    return (f"Measured on {here} only. Elsewhere nothing was measured: physics expects these wires, each cut for its "
            f"band, {decibels(float(apart[0]))} dB apart at {low:.2g} MHz and {decibels(float(apart[-1]))} dB at "
            f"{high:.2g} MHz.")


def _against(judgement: Judgement) -> str:
    """Say what was compared with what."""
    if judgement.compare == "reference":
        return f"each with “{judgement.reference}”"
    return "each with each other" if judgement.compare == "each-other" else "each with the best of the others"


def _matter(judgement: Judgement, plan: Plan | None) -> str:
    """Say which gap matters, and whether the plan had said so."""
    if judgement.matter_db is None:
        return ""
    planned = plan is not None and plan.question.matter_db == judgement.matter_db
    how = "was stated in the plan" if planned else "was taken"
    return f"; {judgement.matter_db:g} dB {how} as the smallest gap that matters"


def _coarse(judgement: Judgement) -> str:
    """Hand on what a coarse meter did to the analysis."""
    return "".join(f"{notice.text} " for notice in judgement.warnings if notice.code == "coarse-meter")


def _set_up(plan: Plan | None, followed: bool) -> str:
    """Say what was planned, the order where one is known to have been followed; empty without a plan."""
    if plan is None:
        return ""
    radio = plan.radio
    at = "" if radio.frequency_mhz is None else f" at {radio.frequency_mhz:g} MHz"
    path = "" if radio.distance_m is None else f" over a path of {radio.distance_m:g} m"
    height = radio.height_m if radio.swap_end == "source" else radio.receive_height_m
    high = "" if height is None else f", {height:g} m high"
    order = f"The order was planned with seed {plan.field.seed}. " if followed else ""
    return f"Antennas ({radio.element}{high}) were compared{at}{path}. {order}"
