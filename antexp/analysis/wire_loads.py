"""Sag, pull and wind over the span in which a wire is to live."""

from __future__ import annotations

import math
from dataclasses import dataclass

from antexp.errors import Fault, JudgementError
from antexp.plan.candidate import Candidate
from antexp.plan.cautions import element_length_m
from antexp.plan.model import Plan
from antexp.radio.sag import catenary_sag_m, support_tension_n, tension_for_sag_n
from antexp.radio.wind import tension_in_wind_n, wind_force_n_per_m

WANTED_FACTOR = 3.0
"""Breaking load over pull that is wanted in still air (common practice, no source)."""

LOAD_CAUTIONS: tuple[str, ...] = (
    "Sag, pull and safety factor are first estimates for a wire in one piece: knots, splices, crimps, ice, ageing and "
    "vibration weaken it, and supports have limits of their own.",
    "The gust and the safety factor to build for, and what may hang over people, ways or neighbours, are set by local "
    "codes and licensed practice; they come first. Never above, below or near a power line.",
)
"""What stands wherever loads are shown."""


@dataclass(frozen=True)
class Span:
    """How a wire is to hang.

    Attributes
    ----------
    span_m : float, m
        Between its supports, of equal height.
    tension_n : float or None, N
        Horizontal pull in still air; the same for every wire.
    sag_m : float or None, m
        Sag to which every wire is pulled, instead of a pull.
    gust_m_per_s : float or None, m/s
        Gust across the wire; None leaves wind out.
    """

    span_m: float
    tension_n: float | None = None
    sag_m: float | None = None
    gust_m_per_s: float | None = None


@dataclass(frozen=True)
class WireLoad:
    """What one wire bears over the span; None where the plan does not give mass, diameter or breaking load.

    Attributes
    ----------
    sag_m : float or None, m
        In still air, by the catenary.
    tension_n : float or None, N
        Pull at a support in still air.
    wind_n_per_m : float or None, N/m
        Force of the gust.
    tension_in_wind_n : float or None, N
        Pull at a support in the gust between fast ends: an upper bound.
    safety_factor, safety_factor_in_wind : float or None
        Breaking load over pull.
    """

    sag_m: float | None = None
    tension_n: float | None = None
    wind_n_per_m: float | None = None
    tension_in_wind_n: float | None = None
    safety_factor: float | None = None
    safety_factor_in_wind: float | None = None


def settle_span(plan: Plan, span_m: float | None, tension_n: float | None, sag_m: float | None,
                gust_m_per_s: float | None) -> Span | None:
    """Return the span as asked, else as the plan has it; None where nothing says how the wire hangs.

    A horizontal dipole's span is its length; of a vertical none is assumed. The pull is the plan's `tension_n` unless
    a pull or a sag is asked for.

    Raises
    ------
    JudgementError
        All values that cannot be, at once.
    """
    faults = [fault for fault in (
        _fault("span", span_m, 1e-2, 1e4, "metres"), _fault("tension", tension_n, 1e-3, 1e5, "newtons"),
        _fault("sag", sag_m, 1e-4, 1e4, "metres"), _fault("gust", gust_m_per_s, 0.0, 150.0, "metres per second"),
    ) if fault]
    if tension_n is not None and sag_m is not None:
        faults.append(Fault("pull and sag are both given", do="Give one: the other follows."))
    if span_m is None and plan.radio.element == "half-wave dipole" and plan.radio.polarisation == "horizontal":
        span_m = element_length_m(plan)
    if sag_m is not None and span_m is not None and not faults and sag_m > 10 * span_m:
        faults.append(Fault("the sag is more than ten times the span", got=f"{sag_m:g} m over {span_m:g} m"))
    if faults:
        raise JudgementError(faults)
    if span_m is None:
        return None
    if sag_m is None and tension_n is None:
        tension_n = plan.field.tension_n
    return Span(span_m, tension_n, sag_m, gust_m_per_s)


def wire_load(candidate: Candidate, span: Span | None) -> WireLoad:
    """Work out what a wire bears.

    Parameters
    ----------
    candidate : Candidate
        Its mass gives sag and pull, its diameter (cover included) the wind, its breaking load the factors.
    span : Span or None
    """
    if span is None:
        return WireLoad()
    wind = None
    if span.gust_m_per_s is not None and candidate.diameter_mm is not None:
        over_all = candidate.diameter_mm + 2.0 * (candidate.insulation_mm or 0.0)
        wind = float(wind_force_n_per_m(span.gust_m_per_s, over_all))
    mass, pull = candidate.mass_g_per_m, span.tension_n
    if pull is None and mass is not None and span.sag_m is not None:
        pull = float(tension_for_sag_n(mass, span.span_m, span.sag_m))
    if mass is None or pull is None:
        return WireLoad(wind_n_per_m=wind)
    still = float(support_tension_n(mass, span.span_m, pull))
    blown = None if wind is None else float(tension_in_wind_n(mass, span.span_m, pull, wind))
    load = candidate.breaking_load_n
    return WireLoad(
        sag_m=float(catenary_sag_m(mass, span.span_m, pull)), tension_n=still, wind_n_per_m=wind,
        tension_in_wind_n=blown, safety_factor=None if load is None else load / still,
        safety_factor_in_wind=None if load is None or blown is None else load / blown,
    )


def _fault(name: str, value: float | None, low: float, high: float, unit: str) -> Fault | None:
    """Check a number of the span."""
    if value is None or (math.isfinite(value) and low <= value <= high):
        return None
    return Fault(f"{name} is out of range", got=f"{value:g}", allowed=f"{unit} from {low:g} to {high:g}")
