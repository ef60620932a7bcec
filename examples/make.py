"""Makes the files of the invented scenarios again, byte for byte: ``python examples/make.py``.

Each folder's ``plan.toml`` and ``expected.json`` are written by hand; order, readings and truth are made here, from
the plan and a fixed seed. The verdicts in ``expected.json`` are what a reader has agreed to, so nothing here writes
them.
"""

from __future__ import annotations

import json
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp import Order, Plan, make_order, read_plan, simulate
from antexp.design.order_file import order_files
from antexp.field.readings import read_readings
from antexp.files import write_all_whole

HERE = Path(__file__).parent
Files = dict[str, str]


def clear_differences(folder: Path) -> Files:
    """Three antennas of each of four wires, six blocks, gaps of nearly 2 and 3 dB."""
    return _plain_day(folder, {"aluminium 1.6 mm": -0.05, "stainless 0.6 mm": -1.9, "bare steel 1.0 mm": -3.2},
                      seed=3, base_db=-50.0)


def nothing_matters(folder: Path) -> Files:
    """Five wires within 0.3 dB of each other, eight blocks; one antenna of each, none of them odd."""
    gaps = {"copper-clad steel 1.0 mm": -0.05, "aluminium 1.0 mm": -0.05, "zinc-coated steel 2.0 mm": -0.2,
            "brass 1.5 mm": -0.1}
    return _plain_day(folder, gaps, seed=12, base_db=-48.0, specimen_sd_db=0.0)


def coarse_meter(folder: Path) -> Files:
    """Whole decibels; one antenna of each, none of them odd."""
    return _plain_day(folder, {"tinned copper 1.0 mm": -0.1, "stainless strand 0.4 mm": -4.6}, seed=8, base_db=41.3,
                      specimen_sd_db=0.0)


def broken_day(folder: Path) -> Files:
    """Make a day whose rest was laid out anew after rain and a broken wire."""
    plan = read_plan(folder / "plan.toml")
    gaps = {"aluminium 2 mm": 0.05, "steel rope 1.5 mm": -2.7, "thin copper 0.3 mm": -0.35, "stainless 1.0 mm": -0.7}
    order = make_order(plan)
    hung = order.table.copy()
    wrong = _swap_at(hung, "2", 3)
    right = hung.loc[hung["swap"] == wrong + 1, "candidate"].iloc[0]
    hung.loc[hung["swap"] == wrong, "candidate"] = right
    hung = hung[(hung["block"].astype(int) < 3) | ((hung["block"] == "3") & (hung["position"] <= 4))]
    world = {"base_db": -57.0, "specimen_sd_db": 0.0}
    morning, morning_truth = _noted(simulate(plan, hung, gaps, seed=8, **world), wrong)
    rest = make_order(plan, done=_record(morning, plan), without=("thin copper 0.3 mm",))
    later = rest.table[rest.table["swap"] > hung["swap"].max()]
    afternoon = simulate(plan, later, gaps, seed=9, **world)
    afternoon = afternoon.assign(keep=1, correction="", note="")
    whole = pd.concat([morning, afternoon], ignore_index=True)
    return {**_order(order, "order.csv"), "readings.until-rain.csv": _csv(morning), **_order(rest, "order.rest.csv"),
            "readings.csv": _csv(whole), "truth.json": _truth(gaps, morning_truth, seeds=[8, 9])}


def old_copper(folder: Path) -> Files:
    """Two sittings of eight swaps; an SWR bridge of 0.5 dB loss stayed in line for the whole of the first."""
    plan, order = _planned(folder)
    gaps = {"old copper, 1.5 mm": -0.15}
    readings = simulate(plan, order, gaps, seed=5, base_db=-38.0, specimen_sd_db=0.0, block_sd_db=0.0)
    first = readings["block"] == "1"
    readings.loc[first, "level_db"] = np.round(readings.loc[first, "level_db"] - 0.5, 6)
    noted = readings.assign(note="")
    noted.loc[first & (readings["reading"] == 1), "note"] = "SWR bridge in line (seen at lunch)"
    return _day(order, noted, gaps, readings.attrs["truth"], [5])


def s_meter(folder: Path) -> Files:
    """Make a day in whole S units."""
    plan = read_plan(folder / "plan.toml")
    order, readings, gaps = _binding_wire(plan, base_db=-73.0, step_db=None)
    units = np.clip(np.round((readings["level_db"] + 73.0) / 6.0 + 9.0), 0, 9).astype(int)
    written = readings.drop(columns="level_db").assign(level_s=[f"S{unit}" for unit in units])
    return _day(order, written, gaps, readings.attrs["truth"], [12])


def step_attenuator(folder: Path) -> Files:
    """Make the very same hangings as `s_meter`, read by switching in decibels until the meter stands at its mark."""
    plan = read_plan(folder / "plan.toml")
    order, readings, gaps = _binding_wire(plan, base_db=27.8, step_db=1.0)
    return _day(order, readings, gaps, readings.attrs["truth"], [12])


def wandering_path(folder: Path) -> Files:
    """Make a day over a path that wanders by 1.5 dB in an hour, planned as such."""
    return _plain_day(folder, {"aluminium 2.5 mm": -0.1, "stainless 0.8 mm": -2.4}, seed=6, base_db=-62.0,
                      specimen_sd_db=0.0)


def jump_at_noon(folder: Path) -> Files:
    """Make a day whose level falls by 2.5 dB in the middle of the third block, and stays down."""
    plan, order = _planned(folder)
    third = order.table[order.table["block"] == "3"]
    since = int(third["swap"].iloc[len(third) // 2])
    gaps = {"brass 2.0 mm": -0.3, "iron 2.0 mm": -2.2}
    readings = simulate(plan, order, gaps, seed=7, base_db=-55.0, specimen_sd_db=0.0)
    after = readings["swap"] >= since
    readings.loc[after, "level_db"] = np.round(readings.loc[after, "level_db"] - 2.5, 6)
    return _day(order, readings, gaps, readings.attrs["truth"], [7])


def gusty_day(folder: Path) -> Files:
    """Make a day on which one hanging of the brass wire lay 2.5 dB low."""
    plan, order = _planned(folder)
    odd = int(order.table.loc[(order.table["candidate"] == "brass 1.0 mm") & (order.table["block"] == "4"),
                              "swap"].iloc[0])
    gaps = {"brass 1.0 mm": -0.1, "aluminium 1.0 mm": -0.1}
    readings = simulate(plan, order, gaps, seed=14, base_db=-47.0, specimen_sd_db=0.0)
    low = readings["swap"] == odd
    readings.loc[low, "level_db"] = np.round(readings.loc[low, "level_db"] - 2.5, 6)
    return _day(order, readings, gaps, readings.attrs["truth"], [14])


def two_receivers(folder: Path) -> Files:
    """Make a day with two receivers that see the same hangings; the second falls silent after the third block."""
    plan, order = _planned(folder)
    gaps = {"phosphor bronze 1.2 mm": -0.4, "stainless 1.2 mm": -2.0}
    # the seed fixes the hangings; the second receiver has a level, a battery and a noise of its own
    near = simulate(plan, order, gaps, seed=10, base_db=-51.0, specimen_sd_db=0.0)
    random = np.random.default_rng(11)
    far = near.assign(level_db=np.round(near["level_db"] - 9.0 - 0.004 * near["minutes"]
                                        + random.normal(0, 0.2, len(near)), 1))
    both = pd.concat([near.assign(receiver="by the boat house"),
                      far[far["block"].astype(int) <= 3].assign(receiver="on the jetty")], ignore_index=True)
    both = both.sort_values(["swap", "receiver", "reading"], ignore_index=True)
    return _day(order, both, gaps, near.attrs["truth"], [10, 11])


def early_look(folder: Path) -> Files:
    """Make the first three of six blocks, after which the plan allows a look."""
    plan, order = _planned(folder)
    gaps = {"steel 1.6 mm": -3.0, "aluminium 1.6 mm": -0.1}
    readings = simulate(plan, order, gaps, seed=53, base_db=-58.0, specimen_sd_db=0.0)
    done = readings[readings["block"].astype(int) <= 3]
    return _day(order, done, gaps, readings.attrs["truth"], [53])


def stiff_wire(folder: Path) -> Files:
    """Make a day on which one wire's hangings scatter four times as much as the others'."""
    plan, order = _planned(folder)
    gaps = {"spring steel 2.0 mm": -1.3, "aluminium 2.0 mm": -0.1}
    readings = simulate(plan, order, gaps, seed=18, base_db=-53.0, specimen_sd_db=0.0)
    own = np.random.default_rng(19).normal(0.0, 1.0, int(readings["swap"].max()) + 1)
    stiff = readings["candidate"] == "spring steel 2.0 mm"
    moved = readings.loc[stiff, "level_db"] + own[readings.loc[stiff, "swap"]]
    readings.loc[stiff, "level_db"] = np.round(moved, 1)
    return _day(order, readings, gaps, readings.attrs["truth"], [18, 19])


def three_days(folder: Path) -> Files:
    """Make three days by one plan, on hills whose ground takes a little off every gap, or adds to it."""
    plan = read_plan(folder / "plan.toml")
    gaps = {"aluminium 1.5 mm": -0.05, "iron 1.5 mm": -2.4}
    files: Files = {}
    for number, hill_db in enumerate((-0.15, 0.0, 0.15), start=1):
        order = make_order(plan, seed=355 + number)
        there = {"aluminium 1.5 mm": gaps["aluminium 1.5 mm"], "iron 1.5 mm": gaps["iron 1.5 mm"] + hill_db}
        readings = simulate(plan, order, there, seed=30 + number, base_db=-50.0 - 3.0 * number, specimen_sd_db=0.0)
        files |= {**_order(order, f"order.hill-{number}.csv"), f"readings.hill-{number}.csv": _csv(readings)}
    files["truth.hills.json"] = json.dumps({"invented": True, "seeds": [31, 32, 33], "gaps_db": gaps,
                                            "gap_between_hills_sd_db": 0.15}, indent=1, ensure_ascii=False) + "\n"
    return files


SCENARIOS: dict[str, Callable[[Path], Files]] = {
    "clear-differences": clear_differences,
    "nothing-matters": nothing_matters,
    "coarse-meter": coarse_meter,
    "broken-day": broken_day,
    "old-copper": old_copper,
    "s-meter": s_meter,
    "step-attenuator": step_attenuator,
    "wandering-path": wandering_path,
    "jump-at-noon": jump_at_noon,
    "gusty-day": gusty_day,
    "two-receivers": two_receivers,
    "early-look": early_look,
    "stiff-wire": stiff_wire,
}
"""One record each."""

CAMPAIGNS: dict[str, Callable[[Path], Files]] = {"three-days": three_days}
"""Several records, to be put together."""


def _plain_day(folder: Path, gaps_db: dict[str, float], *, seed: int, **world: Any) -> Files:
    """Make a day that went as planned."""
    plan, order = _planned(folder)
    readings = simulate(plan, order, gaps_db, seed=seed, **world)
    return _day(order, readings, gaps_db, readings.attrs["truth"], [seed])


def _binding_wire(plan: Any, **world: Any) -> tuple[Any, pd.DataFrame, dict[str, float]]:
    """Draw the day of the binding wire: six hangings each, whatever it is read by."""
    order = make_order(plan)
    gaps = {"iron binding wire, 1.5 mm": -2.6}
    readings = simulate(plan, order, gaps, seed=12, rehang_sd_db=0.35, reading_sd_db=0.25, specimen_sd_db=0.0,
                        block_sd_db=0.0, **world)
    return order, readings, gaps


def _noted(readings: pd.DataFrame, wrong: int) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Write down what went wrong in the morning: the wrong wire, and a reading spoilt by a gust."""
    truth = readings.attrs["truth"]
    readings = readings.assign(keep=1, correction="", note="")
    readings.loc[readings["swap"] == wrong, "correction"] = "handed up too early, seen when it came down"
    gust = readings.index[(readings["swap"] == 5) & (readings["reading"] == 2)]
    readings.loc[gust, "level_db"] = np.round(readings.loc[gust, "level_db"] + 1.6, 6)
    readings.loc[gust, ["keep", "note"]] = [0, "a gust swung the wire during this reading"]
    last = readings["swap"] == readings["swap"].max()
    readings.loc[last, "note"] = "drizzle, stopped after this swap; the thin copper broke when it was put away"
    return readings, truth


def _record(readings: pd.DataFrame, plan: Any) -> Any:
    """Read the morning as `antexp order --done` does, from a file."""
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "readings.csv"
        path.write_text(_csv(readings), encoding="utf-8")
        return read_readings(path, plan)


def _swap_at(order: pd.DataFrame, block: str, position: int) -> int:
    """Return the number of the swap at a position of a block."""
    here = (order["block"] == block) & (order["position"] == position)
    return int(order.loc[here, "swap"].iloc[0])


def _planned(folder: Path) -> tuple[Plan, Order]:
    """Read a folder's plan and draw its order."""
    plan = read_plan(folder / "plan.toml")
    return plan, make_order(plan)


def _day(order: Any, readings: pd.DataFrame, gaps_db: dict[str, float], drawn: dict[str, Any],
         seeds: list[int]) -> Files:
    """Return the three files of a day."""
    return {**_order(order, "order.csv"), "readings.csv": _csv(readings),
            "truth.json": _truth(gaps_db, drawn, seeds=seeds)}


def _order(order: Any, name: str) -> Files:
    """Return the order file's text, without its companions."""
    return {name: str(order_files(order, name)[Path(name)])}


def _csv(readings: pd.DataFrame) -> str:
    """Return the readings file's text."""
    return readings.to_csv(index=False, lineterminator="\n")


def _truth(gaps_db: dict[str, float], drawn: dict[str, Any], *, seeds: list[int]) -> str:
    """Return what only an invented day can tell."""
    levels = drawn["levels_these_specimens_db"]
    reference = next(iter(drawn["gaps_db"]))
    truth = {
        "invented": True,
        "seeds": seeds,
        "gaps_db": gaps_db,
        "gaps_of_these_specimens_db": {name: round(levels[name] - levels[reference], 4) for name in gaps_db},
        "rehang_sd_db": drawn["rehang_sd_db"],
        "reading_sd_db": drawn["reading_sd_db"],
        "specimen_sd_db": drawn["specimen_sd_db"],
    }
    return json.dumps(truth, indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Write every scenario's files into its folder."""
    for name, make in {**SCENARIOS, **CAMPAIGNS}.items():
        write_all_whole({HERE / name / file: text for file, text in make(HERE / name).items()})


if __name__ == "__main__":
    main()
