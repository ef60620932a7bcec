"""What physics expects before the day: the loss of each candidate, its range, and its gap to the reference."""

from __future__ import annotations

import os
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from antexp.plan.candidate import Candidate
from antexp.plan.conductors import Conductor, WireResistance, conductor_of, missing_for_physics, wire_resistance
from antexp.plan.expected_loss import ExpectedLoss, ExpectedLosses, LossCurves
from antexp.plan.expected_sentences import expectation_notices, expectation_sentences
from antexp.plan.feed_resistance import FeedResistance, feed_resistance
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan
from antexp.radio.element import (
    efficiency_loss_db,
    gap_db,
    internal_shortening,
    loss_factor,
    loss_resistance_ohm,
    wavelength_m,
)
from antexp.radio.mismatch import (
    mismatch_loss_db,
    mismatch_loss_from_swr_db,
    mismatch_loss_uncertainty_db,
    power_reflection,
    reflection_from_swr,
)

Floats = NDArray[np.float64]


def expected_losses(plan: str | os.PathLike[str] | Plan, detectable_db: float | None = None) -> ExpectedLosses:
    """Work out what physics expects of a plan's candidates.

    Parameters
    ----------
    plan : path or Plan
        Without a frequency, material or diameter the numbers that need them are None, and `missing` names the key.
    detectable_db : float, optional
        The true gap that the day as planned notices (from `repeats`), for the sentences.

    Returns
    -------
    ExpectedLosses

    Raises
    ------
    FileError, PlanError
        When the plan's file is at fault.
    """
    plan = as_plan(plan)
    frequency_mhz = plan.radio.frequency_mhz
    wires = [wire for wire in map(conductor_of, plan.candidates) if wire is not None] if frequency_mhz else []
    feed = feed_resistance(plan, frequency_mhz) if frequency_mhz else None
    physics = _physics(plan, wires, feed, frequency_mhz) if wires and feed and frequency_mhz else {}
    expected = tuple(ExpectedLoss(candidate.name, **physics.get(candidate.name, {}), **_mismatch(candidate, plan),
                                  missing=_missing(candidate, plan))
                     for candidate in plan.candidates)
    shared = None if feed is None else (float(feed.low_ohm[0]), float(feed.ohm[0]), float(feed.high_ohm[0]))
    return ExpectedLosses(
        plan.title, plan.reference, plan.radio.element, frequency_mhz, plan.question.matter_db, detectable_db, shared,
        expected, tuple(expectation_sentences(plan, expected, detectable_db)),
        tuple(expectation_notices(plan, expected)))


def loss_curves(plan: Plan, frequency_mhz: ArrayLike) -> LossCurves:
    """Return the expected loss of the same wires at other frequencies, each element cut for its frequency.

    Parameters
    ----------
    plan : Plan
    frequency_mhz : array_like, shape (f,), MHz

    Returns
    -------
    LossCurves
        Of the candidates whose metal is known; empty when none is.
    """
    frequencies = np.atleast_1d(np.asarray(frequency_mhz, float))
    wires = [wire for wire in map(conductor_of, plan.candidates) if wire is not None]
    names = tuple(wire.name for wire in wires)
    if not wires:
        empty = np.empty((len(frequencies), 0))
        return LossCurves((), frequencies, empty, empty, empty)
    resistance, feed = wire_resistance(wires, frequencies), feed_resistance(plan, frequencies)
    value, low, high = _losses_ohm(plan, resistance, frequencies)
    return LossCurves(names, frequencies, efficiency_loss_db(value, feed.ohm[:, None]),
                      efficiency_loss_db(low, feed.high_ohm[:, None]), efficiency_loss_db(high, feed.low_ohm[:, None]))


def _losses_ohm(plan: Plan, resistance: WireResistance, frequency_mhz: Floats) -> tuple[Floats, Floats, Floats]:
    """Return loss resistance at the feed: value, low, high; shape (frequencies, conductors).

    The length is the electrical one, λ/2 or λ/4, which belongs to the textbook radiation resistance; the shorter
    resonant wire has a smaller one too, and the ratio of the two stays within 3 %.
    """
    length_m = wavelength_m(frequency_mhz)[:, None] * (0.25 if plan.radio.element == "quarter-wave vertical" else 0.5)
    per_m = (resistance.impedance_ohm_per_m.real, resistance.low_ohm_per_m, resistance.high_ohm_per_m)
    value, low, high = (loss_resistance_ohm(each, length_m, loss_factor(0.25)) for each in per_m)
    return value, low, high


def _physics(plan: Plan, wires: list[Conductor], feed: FeedResistance,
             frequency_mhz: float) -> dict[str, dict[str, Any]]:
    """Return what is known of each conductor, by candidate."""
    frequencies = np.array([frequency_mhz])
    resistance = wire_resistance(wires, frequencies)
    value, low, high = (each[0] for each in _losses_ohm(plan, resistance, frequencies))
    impedance = resistance.impedance_ohm_per_m[0]
    diameter_mm = np.array([wire.diameter_mm for wire in wires])
    short = 100 * internal_shortening(impedance.imag, frequency_mhz, wavelength_m(frequency_mhz) / 4, diameter_mm)
    loss_db = efficiency_loss_db(value, feed.ohm[0])
    least, most = efficiency_loss_db(low, feed.high_ohm[0]), efficiency_loss_db(high, feed.low_ohm[0])
    found: dict[str, dict[str, Any]] = {}
    for i, wire in enumerate(wires):
        found[wire.name] = {
            "resistance_ohm_per_m": float(impedance[i].real),
            "resistance_range_ohm_per_m": (float(resistance.low_ohm_per_m[0, i]),
                                           float(resistance.high_ohm_per_m[0, i])),
            "loss_resistance_ohm": float(value[i]),
            "conductor_loss_db": float(loss_db[i]),
            "conductor_loss_range_db": (float(least[i]), float(most[i])),
            "shortening_percent": float(short[i]),
        }
    names = [wire.name for wire in wires]
    if plan.reference in names:
        _add_gaps(found, names, names.index(plan.reference), (value, low, high), feed)
    return found


def _add_gaps(found: dict[str, dict[str, Any]], names: list[str], reference: int,
              losses_ohm: tuple[Floats, Floats, Floats], feed: FeedResistance) -> None:
    """Add each candidate's gap to the reference and its range; the reference's own is exactly 0."""
    value, low, high = losses_ohm
    shared = np.array([feed.low_ohm[0], feed.high_ohm[0]])
    for i, name in enumerate(names):
        gap = float(gap_db(value[reference], value[i], feed.ohm[0]))
        if i == reference:
            limits = (0.0, 0.0)
        else:  # a shared resistance scales a gap without turning it: its ends are enough
            limits = (float(gap_db(low[reference], high[i], shared).min()),
                      float(gap_db(high[reference], low[i], shared).max()))
        found[name] |= {"gap_to_reference_db": gap, "gap_to_reference_range_db": limits}


def _mismatch(candidate: Candidate, plan: Plan) -> dict[str, Any]:
    """Return a candidate's mismatch loss and its uncertainty; nothing where nothing was measured."""
    source = plan.radio.source_impedance_ohm
    if candidate.feed_ohm is not None:
        reflection = np.abs(power_reflection(source, candidate.feed_ohm))
        loss = mismatch_loss_db(source, candidate.feed_ohm)
    elif candidate.swr is not None:
        reflection = reflection_from_swr(candidate.swr)
        loss = mismatch_loss_from_swr_db(candidate.swr)
    else:
        return {}
    return {"mismatch_loss_db": float(loss), "mismatch_uncertainty_db": float(mismatch_loss_uncertainty_db(reflection))}


def _missing(candidate: Candidate, plan: Plan) -> tuple[str, ...]:
    """Return the keys that would be needed to say more about a candidate."""
    keys = [f"candidates.{key}" for key in missing_for_physics(candidate)]
    if plan.radio.frequency_mhz is None:
        keys.append("radio.frequency_mhz")
    return tuple(keys)
