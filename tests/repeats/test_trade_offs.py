"""The same hours spent otherwise."""

import numpy as np

from antexp.plan.reader import plan_from_dict
from antexp.repeats.trade_offs import trade_offs


def test_readings_specimens_and_days():
    plan = plan_from_dict({"candidates": ["a", "b", "c", "d"], "matter_db": 1.0, "hours": 6,
                           "meter": "spectrum analyser"})
    rows = trade_offs(plan, 6.0)
    assert set(rows["choice"]) == {"readings against swaps", "specimens against repeats",
                                   "one long day against two short ones"}
    readings = rows[rows["choice"] == "readings against swaps"]
    assert readings["as_planned"].sum() == 1
    assert (np.diff(readings["swaps"]) <= 0).all()  # more readings take time away from swaps
    # the optimum is neither one reading nor twenty: swaps repeat the rig, readings the meter
    assert readings["detectable_db"].argmin() not in (0, len(readings) - 1)
    specimens = rows[rows["choice"] == "specimens against repeats"].set_index("setting")
    assert specimens.loc["1 specimen of each", "scope"] == "these specimens"
    assert specimens.loc["3 specimens of each", "scope"] == "any specimen"
    days = rows[rows["choice"] == "one long day against two short ones"]
    assert days["hours"].iloc[1] <= days["hours"].iloc[0]


def test_ways_that_leave_no_day_have_no_chance():
    plan = plan_from_dict({"candidates": ["a", "b", "c", "d"], "matter_db": 1.0, "hours": 2,
                           "meter": "spectrum analyser"})
    slow = trade_offs(plan, 2.0, minutes_per_reading=2.0)
    last = slow[slow["setting"].str.startswith("20 readings")].iloc[0]
    assert last["chance"] == 0.0 and np.isnan(last["detectable_db"])
