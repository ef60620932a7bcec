"""What the sheets, the pages and the recorder need to know of the plan, and what they assume without one."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from antexp.field.swap_list import SwapList
from antexp.plan.reader import read_plan

# Disagreement within a swap that is worth a second look: beyond what six standard deviations of a reading, two steps
# of the meter or 2 dB explain (common practice, no source). It only asks; every answer is taken.
_ODD_SDS, _ODD_STEPS, _ODD_AT_LEAST_DB = 6.0, 2.0, 2.0


@dataclass(frozen=True)
class FieldFacts:
    """What the field needs of the plan.

    Attributes
    ----------
    title : str
        The plan's title; it may speak of the wires, so the reading end never sees it.
    scale : str
        Of the meter, one of `antexp.plan.words.SCALES`.
    step_db : float or None, dB
        Step of the display.
    readings : int
        Wanted in every swap.
    odd_db : float, dB
        A reading that lies further than this from the others of its swap is asked about.
    blind : bool
        Whether the reading end learns no names.
    swap_end : str
        ``"source"`` or ``"receiver"``: where antennas are exchanged.
    plan : Plan or None
        The plan itself, for the cautions.
    assumed : tuple of str
        What was taken for granted, one sentence each.
    """

    title: str = ""
    scale: str = "dBm"
    step_db: float | None = None
    readings: int = 3
    odd_db: float = _ODD_AT_LEAST_DB
    blind: bool = True
    swap_end: str = "source"
    plan: Any = None
    assumed: tuple[str, ...] = ()


def facts_of(plan: Any = None) -> FieldFacts:
    """Return what the field needs of a plan; without one, the usual, said in ``assumed``."""
    if plan is None:
        return FieldFacts(assumed=("No plan was given: I assume a meter that shows dBm, 3 readings a swap, antennas "
                                   "exchanged at the source's end, and a reading end that learns no names.",))
    meter = plan.meter
    odd_db = max(_ODD_AT_LEAST_DB, _ODD_SDS * meter.reading_sd_db, _ODD_STEPS * (meter.step_db or 0.0))
    return FieldFacts(
        title=plan.title or "", scale=meter.scale, step_db=meter.step_db, readings=meter.readings, odd_db=odd_db,
        blind=plan.field.blind, swap_end=plan.radio.swap_end, plan=plan,
    )


def find_plan(swaps: SwapList, path: str | os.PathLike[str] | None) -> Any:
    """Return the plan at ``path``; without one, the plan file beside the order that the order was made from.

    Parameters
    ----------
    swaps : SwapList
        Knows the digest of its plan.
    path : path-like or None
        Where the user says the plan is.

    Returns
    -------
    Plan or None
        None where no file beside the order has the digest.

    Raises
    ------
    FileError, PlanError
        When the named plan cannot be read.
    """
    if path is not None:
        return read_plan(path)
    if swaps.plan_sha256:
        for beside in sorted(Path(swaps.path).resolve().parent.glob("*.toml")):
            if beside.is_file() and hashlib.sha256(beside.read_bytes()).hexdigest() == swaps.plan_sha256:
                return read_plan(beside)
    return None
