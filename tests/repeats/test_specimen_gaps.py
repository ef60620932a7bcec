"""Gaps of these specimens beside gaps of any specimen: each is held against the truth that it speaks of."""

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.plan.reader import plan_from_dict
from antexp.repeats.layout import layout_of
from antexp.repeats.rehearsal import rehearse
from antexp.repeats.specimen_gaps import specimen_means

THREE_TWO_ONE = [{"name": "bare", "specimens": 3}, {"name": "clad", "specimens": 3}, {"name": "steel", "specimens": 1},
                 {"name": "tin", "specimens": 2}]


@pytest.fixture(scope="module")
def planned():
    plan = plan_from_dict({"candidates": THREE_TWO_ONE, "question": {"matter_db": 1.0},
                           "field": {"blocks": 6, "specimen_sd_db": 0.8}})
    return plan, make_order(plan)


@pytest.mark.parametrize("missing_share", [0.0, 0.15])
def test_no_gap_is_missed_because_single_specimens_differ(planned, missing_share):
    """Specimens scatter by 0.8 dB, twice a hanging: held against the gap in general, 4 of 10 limits would miss it."""
    found = rehearse(*planned, records=1000, missing_share=missing_share)
    rows = found.table.set_index("candidate")
    assert rows.loc["steel", "scope"] == "these specimens" and rows.loc["clad", "scope"] == "any specimen"
    assert found.any_missed < 0.05 + 3 * max(found.any_missed_se, 0.005)
    assert rows.loc["steel", "wrong_way"] < 0.05


def test_a_wire_that_lost_its_other_specimen_speaks_of_the_one_that_hung():
    """Two specimens of each, a third of the swaps lost: whole days lose a specimen, and the question changes."""
    plan = plan_from_dict({"candidates": [{"name": name, "specimens": 2} for name in "abcd"],
                           "question": {"matter_db": 1.0}, "field": {"blocks": 5, "specimen_sd_db": 1.0}})
    found = rehearse(plan, make_order(plan), records=1500, missing_share=0.35)
    assert found.any_missed < 0.06


def test_mean_of_the_specimens_that_hung():
    plan = plan_from_dict({"candidates": THREE_TWO_ONE, "field": {"blocks": 6}})
    layout = layout_of(make_order(plan), 7.0, 30.0)
    pairs = list(dict.fromkeys(zip(layout.candidate, layout.specimen, strict=True)))
    value = {pair: float(number) for number, pair in enumerate(pairs)}
    done = ~((layout.candidate == "tin") & (layout.specimen == "2"))
    means = specimen_means(layout, done, np.array(list(value.values()))[:, None], ["bare", "tin", "copper"])
    bare = np.mean([value["bare", label] for label in "123" if ("bare", label) in value])
    assert means[:, 0].tolist() == pytest.approx([bare, value["tin", "1"], 0.0])
