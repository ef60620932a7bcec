"""The invented scenario: what is true of the wires, of the path, and what goes wrong on the day."""

from __future__ import annotations

from importlib.resources import as_file, files

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.order_document import Order
from antexp.plan.model import Plan
from antexp.plan.reader import read_plan
from antexp.repeats.simulate import simulate

SEED = 20261125
BASE_DBM = -45.0

# Gaps to the reference as used, dB: what the judgement should find. Invented, in the range that the physics expects.
TRUE_GAPS_DB = {
    "copper-clad steel, 0.8 mm": -0.02,
    "aluminium, 1.6 mm": 0.02,
    "phosphor-bronze strand, 1.2 mm": -0.13,
    "covered copper, cut to the bare length": -0.40,
    "tinned copper with a poor crimp, 1.0 mm": -0.90,
    "stainless strand, 0.5 mm": -1.40,
    "spring steel, 0.8 mm": -2.60,
}

# What the hanging end ticked, 1 a nuisance to 5 a pleasure, and remarked; where the wire is to hang for good.
HANDLING = {
    "enamelled copper, 1.0 mm": (4, "kinks, but lies where it is put"),
    "copper-clad steel, 0.8 mm": (3, "springs open; mind the eyes"),
    "aluminium, 1.6 mm": (3, "breaks where it was bent twice"),
    "phosphor-bronze strand, 1.2 mm": (5, "coils like string"),
    "covered copper, cut to the bare length": (4, ""),
    "tinned copper with a poor crimp, 1.0 mm": (4, ""),
    "stainless strand, 0.5 mm": (4, "hard to see in the grass"),
    "spring steel, 0.8 mm": (1, "bites"),
}
LATER_SPAN_M, LATER_PULL_N, LATER_GUST_M_PER_S = 14.0, 15.0, 25.0

_TIDE_PEAK_HOURS, _TIDE_HEIGHT_DB, _TIDE_WIDTH_HOURS = 3.6, 1.1, 1.3
_BATTERY_CHANGE_HOURS, _BATTERY_STEP_DB = 3.45, 0.8
_SLIP_MINUTES = 7.0


def demo_plan() -> Plan:
    """Read the plan that ships with antexp."""
    with as_file(files("antexp.demo") / "plan.toml") as path:
        return read_plan(path)


def demo_plan_text() -> str:
    """Return that plan's text."""
    return (files("antexp.demo") / "plan.toml").read_text(encoding="utf-8")


def path_db(hours: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return what the path and the source add at a time of the day.

    Parameters
    ----------
    hours : ndarray, hours
        Since the first swap.

    Returns
    -------
    ndarray, dB
        The rising tide wets the path (+1.1 dB at 3.6 h); a battery is changed at lunch (+0.8 dB).
    """
    tide = _TIDE_HEIGHT_DB * np.exp(-0.5 * ((hours - _TIDE_PEAK_HOURS) / _TIDE_WIDTH_HOURS) ** 2)
    return tide + np.where(hours >= _BATTERY_CHANGE_HOURS, _BATTERY_STEP_DB, 0.0)


def fixed_order_readings(plan: Plan) -> pd.DataFrame:
    """Simulate what people usually do: every wire hung once, in the order of the list, in one go.

    Parameters
    ----------
    plan : Plan
        The demo's plan.

    Returns
    -------
    DataFrame, one row a wire
        ``candidate``, ``level_db`` (mean of the readings), ``gap_db`` (to the reference) and ``true_gap_db``. The
        wires go up between the second and the third hour of the same day.
    """
    names = plan.candidate_names
    minutes = np.arange(len(names)) * plan.field.minutes_per_swap
    order = pd.DataFrame(
        {"swap": np.arange(1, len(names) + 1), "block": "1", "position": np.arange(1, len(names) + 1),
         "minutes": minutes, "candidate": names, "specimen": "1", "place": "1", "role": "candidate"}
    )  # fmt: skip
    readings = simulate(
        plan, order, TRUE_GAPS_DB, seed=SEED, path_db=lambda hours: path_db(hours + 2.0), base_db=BASE_DBM, step_db=0.1
    )
    means = readings.groupby("candidate", sort=False)["level_db"].mean()
    gaps = means - means[plan.reference]
    truth = [TRUE_GAPS_DB.get(str(name), 0.0) for name in means.index]
    return pd.DataFrame(
        {"candidate": means.index, "level_db": means.to_numpy(), "gap_db": gaps.to_numpy(), "true_gap_db": truth}
    )


def day_readings(plan: Plan, order: Order) -> pd.DataFrame:
    """Simulate the fair day, with all that goes wrong on it.

    Parameters
    ----------
    plan : Plan
        The demo's plan.
    order : Order
        Its swap order.

    Returns
    -------
    DataFrame
        A readings file: a squall ends block 3 two swaps early; a wrong wire is handed up once and entered with the
        reason; a neighbouring carrier lifts one reading by 2 dB, which is left out; the pole slips 15 cm and that
        swap is done again.
    """
    hung = order.table.copy()
    wrong, right = _wrong_wire(hung)
    hung.loc[hung["swap"] == wrong, ["candidate", "specimen"]] = [right, "1"]
    slipped = _swap_at(hung, block="4", position=4)
    later = (hung["block"] == "4") & (hung["swap"] >= slipped)
    hung.loc[later, "minutes"] += _SLIP_MINUTES
    hung = hung[~((hung["block"] == "3") & (hung["position"] > 8))]
    readings = simulate(plan, hung, TRUE_GAPS_DB, seed=SEED, path_db=path_db, base_db=BASE_DBM, step_db=0.1)
    readings = readings.drop(columns=["place", "specimen"]).assign(keep=1, correction="", note="")
    readings.loc[readings["swap"] == wrong, "correction"] = "this wire was handed up by mistake, noticed when lowering"
    readings = _with_carrier(readings, _swap_at(hung, block="2", position=8))
    return _with_slip(_with_handling(readings), slipped)


def _swap_at(order: pd.DataFrame, block: str, position: int) -> int:
    """Return the number of the swap at a position of a block."""
    here = (order["block"] == block) & (order["position"] == position)
    return int(order.loc[here, "swap"].iloc[0])


def _wrong_wire(order: pd.DataFrame) -> tuple[int, str]:
    """Return the swap at which the next wire was handed up too early, and that wire."""
    swap = _swap_at(order, block="1", position=3)
    following = order.loc[order["swap"] == swap + 1, "candidate"].iloc[0]
    return swap, str(following)


def _with_carrier(readings: pd.DataFrame, swap: int) -> pd.DataFrame:
    """Lift the second reading of a swap by 2 dB and leave it out, as the crew did when it heard the carrier."""
    here = (readings["swap"] == swap) & (readings["reading"] == 2)
    readings.loc[here, "level_db"] += 2.0
    readings.loc[here, "keep"] = 0
    readings.loc[here, "note"] = "a neighbouring carrier came up during this reading"
    return readings.round({"level_db": 6})


def _with_handling(readings: pd.DataFrame) -> pd.DataFrame:
    """Put the hanging end's tick and remark beside the first reading of every swap."""
    first = readings["reading"] == readings.groupby("swap")["reading"].transform("min")
    ticks = readings["candidate"].map({name: str(tick) for name, (tick, _) in HANDLING.items()}).where(first, "")
    remarks = readings["candidate"].map({name: remark for name, (_, remark) in HANDLING.items()}).where(first, "")
    return readings.assign(handling=ticks, handling_note=remarks)


def _with_slip(readings: pd.DataFrame, swap: int) -> pd.DataFrame:
    """Put the spoilt readings of the slipped pole before those of the swap done again."""
    good = readings[readings["swap"] == swap]
    spoilt = good.assign(
        minutes=good["minutes"] - _SLIP_MINUTES,
        level_db=(good["level_db"] - 0.7).round(6),
        keep=0,
        note="the pole slipped 15 cm; swap done again",
    )
    good = good.assign(reading=good["reading"] + len(spoilt))
    before, after = readings[readings["swap"] < swap], readings[readings["swap"] > swap]
    return pd.concat([before, spoilt, good, after], ignore_index=True)
