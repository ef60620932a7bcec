"""The world a simulated record is drawn from: the truth about the wires, and every scatter and drift around it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields
from difflib import get_close_matches
from typing import Any, TypedDict

import numpy as np
from numpy.typing import NDArray

from antexp.errors import Fault, RepeatsError
from antexp.plan.model import Plan

Path = Callable[[NDArray[np.float64]], NDArray[np.float64]]

# A level in the middle of what receivers of each scale show; only the looks of a simulated record depend on it.
# Of "dB" they are negative, as software receivers show them: the sign of positive ones would be asked for.
_BASE_DB = {"dBm": -60.0, "minus dBm": -60.0, "S units": -73.0, "dB": -40.0}


class WorldKeywords(TypedDict, total=False):
    """What `antexp.simulate` and `antexp.rehearse` take besides: any field of `World` in place of the plan's."""

    specimens_db: Mapping[tuple[str, str], float]
    rehang_sd_db: float
    reading_sd_db: float
    specimen_sd_db: float
    place_sd_db: float
    block_sd_db: float
    centre_specimens: bool
    drift_db_per_hour: float
    slopes_db_per_hour: Sequence[float] | None
    wander_db_per_sqrt_hour: float
    base_db: float
    step_db: float | None
    readings: int
    reading_gap_minutes: float
    break_minutes: float
    missing_share: float


@dataclass(frozen=True)
class World:
    """What is true in a simulated record.

    Attributes
    ----------
    gaps_db : dict of str to float, dB
        Level of each candidate above the reference; a candidate that is not named has gap 0.
    specimens_db : dict of (str, str) to float, dB
        Known deviations of single specimens, (candidate, specimen), on top of the drawn ones.
    rehang_sd_db, reading_sd_db, specimen_sd_db, place_sd_db, block_sd_db : float, dB
        Standard deviations between hangings of a specimen, readings of a swap, specimens of a candidate, places,
        and levels of blocks.
    centre_specimens : bool
        True: the deviations of a candidate's specimens add up to zero, so that `gaps_db` are the gaps of these very
        specimens. False: they are gaps of the candidates in general.
    drift_db_per_hour : float
        Standard deviation of the slope over blocks.
    slopes_db_per_hour : tuple of float or None
        The slopes themselves, one a block, instead of drawn ones.
    wander_db_per_sqrt_hour : float
        Random walk of the path, afresh in every block.
    path_db : callable or None
        Takes hours since the first swap of the day, an array, and returns dB: a fixed path on top of all else.
    base_db : float
        Level of the reference, dB or dBm.
    step_db : float or None
        Step the display rounds to; None: not rounded.
    readings : int
        Readings a swap.
    reading_gap_minutes : float, minutes
        From one reading of a swap to the next.
    break_minutes : float, minutes
        Between blocks.
    missing_share : float, 0 … 1
        Chance of each swap to be missing.
    """

    gaps_db: dict[str, float]
    specimens_db: dict[tuple[str, str], float]
    rehang_sd_db: float
    reading_sd_db: float
    specimen_sd_db: float
    place_sd_db: float
    block_sd_db: float
    centre_specimens: bool
    drift_db_per_hour: float
    slopes_db_per_hour: tuple[float, ...] | None
    wander_db_per_sqrt_hour: float
    path_db: Path | None
    base_db: float
    step_db: float | None
    readings: int
    reading_gap_minutes: float
    break_minutes: float
    missing_share: float


_SPREADS = ("rehang_sd_db", "reading_sd_db", "specimen_sd_db", "place_sd_db", "block_sd_db", "drift_db_per_hour",
            "wander_db_per_sqrt_hour", "reading_gap_minutes", "break_minutes")


def world_of(plan: Plan, gaps_db: Mapping[str, float] | None = None, **changes: Any) -> World:
    """Read the world off a plan, with changes.

    Parameters
    ----------
    plan : Plan
        Gives every spread that `changes` leaves out.
    gaps_db : mapping of str to float, optional, dB
        Level of candidates above the reference.
    **changes
        Fields of `World` by name. With `path_db`, drift, wander and steps between blocks are 0 unless named.

    Raises
    ------
    RepeatsError
        Unknown names and impossible values, all at once.
    """
    faults = [*_gap_faults(plan, gaps_db or {}), *_change_faults(changes)]
    if faults:
        raise RepeatsError(faults)
    field, meter = plan.field, plan.meter
    free = changes.get("path_db") is None
    settled = {
        "specimens_db": {},
        "rehang_sd_db": field.rehang_sd_db,
        "reading_sd_db": meter.reading_sd_db,
        "specimen_sd_db": field.specimen_sd_db,
        "place_sd_db": 0.5 if field.places > 1 else 0.0,
        "block_sd_db": 1.0 if free else 0.0,
        "centre_specimens": False,
        "drift_db_per_hour": field.drift_db_per_hour if free else 0.0,
        "slopes_db_per_hour": None,
        "wander_db_per_sqrt_hour": field.wander_db_per_sqrt_hour if free else 0.0,
        "path_db": None,
        "base_db": _BASE_DB.get(meter.scale, 40.0),
        "step_db": meter.step_db,
        "readings": meter.readings,
        "reading_gap_minutes": 0.0,
        "break_minutes": 15.0,
        "missing_share": 0.0,
        **changes,
    }
    if settled["slopes_db_per_hour"] is not None:
        settled["slopes_db_per_hour"] = tuple(float(slope) for slope in settled["slopes_db_per_hour"])
    named = {name: float((gaps_db or {}).get(name, 0.0)) for name in plan.candidate_names}
    return World(gaps_db=named, **settled)


def _gap_faults(plan: Plan, gaps_db: Mapping[str, float]) -> list[Fault]:
    """Check the names and values of gaps."""
    faults = []
    for name, gap in gaps_db.items():
        if name not in plan.candidate_names:
            near = get_close_matches(str(name), plan.candidate_names, 1)
            faults.append(Fault("gaps_db names an unknown candidate", got=repr(name),
                                allowed=", ".join(repr(known) for known in plan.candidate_names),
                                do=f"Did you mean {near[0]!r}?" if near else ""))
        elif not _finite(gap) or abs(gap) > 100:
            faults.append(Fault(f"gaps_db has an impossible gap for {name!r}", got=repr(gap),
                                allowed="dB, −100 to 100"))
        elif name == plan.reference and gap != 0:
            faults.append(Fault("gaps_db gives the reference a gap to itself", got=f"{gap:g}", allowed="0",
                                do="Gaps are taken against the reference; give the others theirs."))
    return faults


def _change_faults(changes: Mapping[str, Any]) -> list[Fault]:
    """Check what stands in for the plan's own values."""
    known = [field.name for field in fields(World) if field.name != "gaps_db"]
    faults = []
    for name, value in changes.items():
        if name not in known:
            near = get_close_matches(name, known, 1)
            faults.append(Fault("unknown property of a simulated record", got=name, allowed=", ".join(known),
                                do=f"Did you mean {near[0]}?" if near else ""))
        elif name in _SPREADS and not (_finite(value) and value >= 0):
            faults.append(Fault(f"{name} is impossible", got=repr(value), allowed="a number, 0 or more"))
    faults += _other_faults(changes)
    return faults


def _other_faults(changes: Mapping[str, Any]) -> list[Fault]:
    """Check step, readings, missing share, slopes and path."""
    faults = []
    step, readings = changes.get("step_db"), changes.get("readings", 1)
    missing, slopes = changes.get("missing_share", 0.0), changes.get("slopes_db_per_hour")
    if step is not None and not (_finite(step) and step > 0):
        faults.append(Fault("step_db is impossible", got=repr(step), allowed="dB above 0, or None for no rounding"))
    if not (isinstance(readings, int | np.integer) and 1 <= readings <= 1000):
        faults.append(Fault("readings is impossible", got=repr(readings), allowed="a whole number from 1 to 1000"))
    if not (_finite(missing) and 0 <= missing < 1):
        faults.append(Fault("missing_share is impossible", got=repr(missing), allowed="from 0 to below 1"))
    if slopes is not None and not (isinstance(slopes, Sequence | np.ndarray) and all(_finite(s) for s in slopes)):
        faults.append(Fault("slopes_db_per_hour is impossible", got=repr(slopes), allowed="one number a block"))
    if changes.get("path_db") is not None and not callable(changes["path_db"]):
        faults.append(Fault("path_db cannot be called", got=type(changes["path_db"]).__name__,
                            allowed="a function of hours since the first swap that returns dB"))
    return faults


def _finite(value: Any) -> bool:
    """Tell a finite real number."""
    return isinstance(value, int | float | np.number) and not isinstance(value, bool) and math.isfinite(value)
