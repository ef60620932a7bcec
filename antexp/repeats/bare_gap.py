"""What a bare number is worth: a gap between two candidates, each hung a few times, spreads taken as known."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any

from scipy import special

from antexp.errors import Fault
from antexp.json_text import JsonText
from antexp.mixed.chance import chance_of_noticing, detectable_gap
from antexp.mixed.verdict import classify
from antexp.radio.mismatch import mismatch_loss_from_swr_db
from antexp.repeats.single_hanging import Scatter, assumed_spreads, checked_scatter, checked_share, refuse

MOST_HANGINGS = 10_000


@dataclass(frozen=True)
class BareGap(JsonText):
    """A bare number, judged.

    Attributes
    ----------
    gap_db : float, dB
        As given; positive: the first named is stronger.
    mismatch_gap_db : float or None, dB
        The part of it that the two standing-wave ratios explain; None where they are not known.
    own_gap_db : float, dB
        What is left: the gap less the mismatch part.
    hangings, readings : int
        Hangings of each candidate, readings of each hanging.
    rehang_sd_db, reading_sd_db : float, dB
        Spreads taken as known.
    step_db : float or None, dB
        Step of the display.
    confidence, chance, matter_db : float
        As asked; `matter_db` may be None.
    standard_error_db : float, dB
        Of the gap: √2 times the scatter of a hanging's mean over √hangings.
    resolution_db : float, dB
        Gaps beyond it are called real.
    detectable_db : float, dB
        A true gap of this size is noticed with the wanted chance.
    interval_db : tuple of float, dB
        Limits of the own gap.
    p_value : float
        Chance of a gap at least as large, of either sign, between equal wires.
    verdict : str
        One of `antexp.mixed.verdict.VERDICTS`.
    hangings_needed : int or None
        Hangings of each with which a true gap of this size is noticed with the wanted chance; None for a gap of 0,
        or when even 10,000 do not do.
    hangings_to_resolve : int or None
        Hangings of each with which an observed gap of this size is called real.
    noise_above_rehang_sd_db : float, dB
        The re-hanging scatter from which on this gap is not told from chance; 0 where readings alone hide it.
    repeatability_limit_db : float, dB
        What two single hangings of the same wire differ by in 95 of 100 cases at most (ISO 5725-6).
    assumptions : tuple of str
        Spreads that were not given, as sentences that begin "I assume".
    """

    gap_db: float
    mismatch_gap_db: float | None
    own_gap_db: float
    hangings: int
    readings: int
    rehang_sd_db: float
    reading_sd_db: float
    step_db: float | None
    confidence: float
    chance: float
    matter_db: float | None
    standard_error_db: float
    resolution_db: float
    detectable_db: float
    interval_db: tuple[float, float]
    p_value: float
    verdict: str
    hangings_needed: int | None
    hangings_to_resolve: int | None
    noise_above_rehang_sd_db: float
    repeatability_limit_db: float
    assumptions: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the answer as the JSON document holds it."""
        return asdict(self)


def bare_gap(
    gap_db: float,
    *,
    hangings: int = 1,
    readings: int = 1,
    rehang_sd_db: float | None = None,
    reading_sd_db: float | None = None,
    step_db: float | None = None,
    swr: tuple[float, float] | None = None,
    confidence: float = 0.95,
    chance: float = 0.80,
    matter_db: float | None = None,
) -> BareGap:
    """Judge a bare number.

    Parameters
    ----------
    gap_db : float, dB
        Level of the first candidate less that of the second.
    hangings, readings : int
        Hangings of each candidate; readings of each hanging.
    rehang_sd_db, reading_sd_db : float, optional, dB
        Known or guessed spreads; left out: the defaults of a plan.
    step_db : float, optional, dB
        Step of the display.
    swr : tuple of float, optional
        Standing-wave ratio of the first and of the second. Their mismatch losses are taken off the gap.
    confidence, chance : float
        Of the limits; wanted for noticing a true gap.
    matter_db : float, optional, dB
        The smallest gap that would change the choice.

    Returns
    -------
    BareGap

    Raises
    ------
    RepeatsError
        All impossible values at once.

    Notes
    -----
    Spreads are taken as known, so limits are those of the normal distribution.

    References
    ----------
    ISO 5725-6:1994, clause 4.1 (repeatability limit, 1.96·√2·s).
    """
    scatter, faults = checked_scatter(rehang_sd_db, reading_sd_db, readings, step_db)
    faults += [*_gap_faults(gap_db, hangings, matter_db, swr), *checked_share("confidence", confidence)]
    refuse(faults + checked_share("chance", chance))
    mismatch = None if swr is None else mismatch_gap_db(*swr)
    own = gap_db - (mismatch or 0.0)
    critical = float(-special.ndtri((1.0 - confidence) / 2.0))
    error = math.sqrt(2.0 / hangings) * scatter.sd_db
    resolution = critical * error
    limits = (own - resolution, own + resolution)
    return BareGap(
        gap_db=float(gap_db), mismatch_gap_db=mismatch, own_gap_db=own, hangings=hangings, readings=readings,
        rehang_sd_db=scatter.rehang_sd_db, reading_sd_db=scatter.reading_sd_db, step_db=step_db,
        confidence=confidence, chance=chance, matter_db=matter_db, standard_error_db=error, resolution_db=resolution,
        detectable_db=detectable_gap(error, math.inf, critical, chance), interval_db=limits,
        p_value=float(2.0 * special.ndtr(-abs(own) / error)),
        verdict=str(classify(limits[0], limits[1], matter_db)),
        hangings_needed=hangings_needed(own, scatter, confidence, chance),
        hangings_to_resolve=_least(2.0 * (scatter.sd_db * critical / own) ** 2) if own else None,
        noise_above_rehang_sd_db=scatter.rehang_for(abs(own) / critical * math.sqrt(hangings / 2.0)),
        repeatability_limit_db=float(-special.ndtri(0.025)) * math.sqrt(2.0) * scatter.sd_db,
        assumptions=assumed_spreads(rehang_sd_db, reading_sd_db),
    )


def mismatch_gap_db(swr_first: float, swr_second: float) -> float:
    """Return the gap that two standing-wave ratios make by themselves: loss of the second less that of the first."""
    return float(mismatch_loss_from_swr_db(swr_second) - mismatch_loss_from_swr_db(swr_first))


def hangings_needed(gap_db: float, scatter: Scatter, confidence: float, chance: float) -> int | None:
    """Return the hangings of each candidate with which a true gap is noticed with the wanted chance.

    Returns
    -------
    int or None
        None for a gap of 0 and beyond `MOST_HANGINGS`.
    """
    if gap_db == 0.0:
        return None
    critical = float(-special.ndtri((1.0 - confidence) / 2.0))
    least = _least(2.0 * (detectable_gap(scatter.sd_db, math.inf, critical, chance) / gap_db) ** 2)
    if least is None:
        return None
    # The quadratic above is solved to rounding; the chance itself decides at the edge.
    error = scatter.sd_db * math.sqrt(2.0 / least)
    return least if float(chance_of_noticing(gap_db, error, math.inf, critical)) >= chance - 1e-9 else least + 1


def _least(hangings: float) -> int | None:
    """Return the next whole number, 1 at least."""
    return None if hangings > MOST_HANGINGS else max(1, math.ceil(hangings - 1e-9))


def _gap_faults(
    gap_db: float, hangings: int, matter_db: float | None, swr: tuple[float, float] | None
) -> list[Fault]:
    """Check the gap itself."""
    faults = []
    if not (math.isfinite(gap_db) and abs(gap_db) <= 300):
        faults.append(Fault("the gap is not a number of dB", got=f"{gap_db:g}", allowed="−300 to 300"))
    if hangings < 1:
        faults.append(Fault("hangings is too small", got=str(hangings), allowed="1 or more hangings of each"))
    if matter_db is not None and not (math.isfinite(matter_db) and 0 < matter_db <= 100):
        faults.append(Fault("matter_db is not a gap", got=f"{matter_db:g}", allowed="dB above 0, at most 100"))
    for value in swr or ():
        if not (math.isfinite(value) and 1 <= value <= 100):
            faults.append(Fault("a standing-wave ratio is impossible", got=f"{value:g}", allowed="1 to 100"))
    return faults
