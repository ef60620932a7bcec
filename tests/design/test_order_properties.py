"""What must hold for every order of every plan (hypothesis): counts, spacing, room, reproducibility, estimability."""

from collections import Counter

import numpy as np
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from antexp.design.check_words import within_one_letter
from antexp.design.estimable import is_full_rank
from antexp.design.order import make_order
from antexp.design.randomisation import redraw
from antexp.design.swap_model import swap_model
from antexp.errors import InputError
from antexp.plan.reader import plan_from_dict

SETTINGS = settings(deadline=None, derandomize=True, database=None,
                    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much])


@st.composite
def plans(draw):
    """Plans of every kind: complete and small blocks, repeats, specimens, availability, places, both drifts."""
    count = draw(st.integers(2, 9))
    blocks = draw(st.integers(1, 8))
    candidates = [{"name": "the reference", "specimens": draw(st.integers(1, 2))}]
    for number in range(1, count):
        one = {"name": f"wire {number}", "specimens": draw(st.sampled_from([1, 1, 2, 3])),
               "repeats": draw(st.sampled_from([1, 1, 1, 2]))}
        if draw(st.integers(0, 5)) == 0:
            one["available_in_blocks"] = sorted(draw(st.sets(st.integers(1, blocks), min_size=1)))
        candidates.append(one)
    field = {
        "blocks": blocks,
        "minutes_per_swap": draw(st.sampled_from([5, 7, 7.5])),
        "block_minutes": draw(st.sampled_from([30, 45, 60, 75, 120])),
        "drift": draw(st.sampled_from(["none", "steady", "steady", "curved"])),
        "seed": draw(st.integers(0, 10_000)),
    }
    if draw(st.booleans()):
        field["reference_every"] = draw(st.integers(2, 6))
    if draw(st.integers(0, 3)) == 0:
        field["places"] = draw(st.integers(2, 3))
    compare = draw(st.sampled_from(["reference", "each-other"]))
    return {"candidates": candidates, "question": {"compare": compare, "matter_db": 1.0}, "field": field}


def orders_of(mapping):
    """Make the order; plans that cannot be judged are refused with a message that says what to do."""
    try:
        plan = plan_from_dict(mapping)
        return plan, make_order(plan)
    except InputError as refused:
        assert all(fault.what and (fault.do or fault.allowed) for fault in refused.faults)
        assume(False)


@given(plans())
@settings(SETTINGS, max_examples=18)
def test_counts_spacing_and_room(mapping):
    plan, order = orders_of(mapping)
    table, field = order.table, plan.field
    wanted = {c.name: c for c in plan.candidates}
    assert table["swap"].tolist() == list(range(1, len(table) + 1))
    for number, (label, block) in enumerate(table.groupby("block", sort=False), start=1):
        assert label == str(number) and block["position"].tolist() == list(range(1, len(block) + 1))
        assert len(block) * field.minutes_per_swap <= field.block_minutes + 1e-6
        roles = block["role"].tolist()
        assert (block["candidate"] == plan.reference).tolist() == [role == "reference" for role in roles]
        if len(block) > 2:
            assert roles[0] == roles[-1] == "reference"
        if field.reference_every and len(block) > 2:
            for start in range(len(roles) - field.reference_every + 1):
                assert "reference" in roles[start : start + field.reference_every]
        for name, hangings in Counter(block.loc[block["role"] == "candidate", "candidate"]).items():
            available = wanted[name].available_in_blocks
            assert available is None or number in available
            assert hangings <= wanted[name].repeats or len(plan.candidates) == 2
    assert set(table["candidate"]) == set(wanted)
    for name, own in table.groupby("candidate"):
        assert set(own["specimen"]) <= {str(s + 1) for s in range(wanted[name].specimens)}


@given(plans())
@settings(SETTINGS, max_examples=12)
def test_equal_candidates_hang_equally_often_and_specimens_take_turns(mapping):
    plan, order = orders_of(mapping)
    counts = Counter(order.table["candidate"])
    plain = [c.name for c in plan.candidates if c.name != plan.reference and c.repeats == 1
             and c.available_in_blocks is None]
    if plain:
        assert max(counts[name] for name in plain) - min(counts[name] for name in plain) <= 1
    if plan.field.places == 1:
        for name, own in order.table.groupby("candidate"):
            specimens = next(c.specimens for c in plan.candidates if c.name == name)
            each = Counter(own["specimen"])
            assert max(each.values()) - min(each.get(str(s + 1), 0) for s in range(specimens)) <= 2


@given(plans())
@settings(SETTINGS, max_examples=12)
def test_everything_asked_can_be_estimated_with_swaps_to_spare(mapping):
    plan, order = orders_of(mapping)
    table = order.table
    model = swap_model(table["candidate"], table["block"], table["minutes"], reference=plan.reference,
                       drift=plan.field.drift, specimen=table["specimen"], place=table["place"], specimens_fixed=True)
    assert is_full_rank(model) and len(table) - model.X.shape[1] >= 4
    for gap in order.gaps:
        row = model.gap(gap.candidate, gap.against)
        swap_variance = plan.field.rehang_sd_db**2 + plan.meter.reading_sd_db**2 / plan.meter.readings
        expected = swap_variance * row @ np.linalg.solve(model.X.T @ model.X, row)
        assert np.isclose(gap.standard_error_db**2, expected, rtol=1e-8)
        assert gap.detectable_db > gap.resolution_db > gap.standard_error_db and 0 <= gap.tied_to_time < 1
    assert 0 < order.precision_kept <= 1
    assert (order.precision_kept == 1) or plan.field.drift != "none"


@given(plans())
@settings(SETTINGS, max_examples=5)
def test_same_plan_same_order_and_words_apart(mapping):
    plan, order = orders_of(mapping)
    assert make_order(plan).table.equals(order.table)
    words = order.table["word"].tolist()
    assert not any(within_one_letter(a, b) for i, a in enumerate(words) for b in words[:i])


@given(plans())
@settings(SETTINGS, max_examples=7)
def test_the_recipe_is_symmetric_and_redraws_stay_within_it(mapping):
    _plan, order = orders_of(mapping)
    recipe = order.recipe
    fixed = np.array(recipe["fixed"])
    drawn = redraw(recipe, 1200, seed=11)
    labels = drawn.labels
    assert (drawn.variances <= recipe["threshold"]).all()
    assert (labels[:, fixed >= 0] == fixed[fixed >= 0]).all()
    for group in recipe["classes"]:
        shares = np.array([(labels[:, fixed < 0] == code).mean(axis=0) for code in group])
        # members of a class stand in each slot equally often: six standard errors, over all slots and members
        allowed = 6 * np.sqrt(np.maximum(shares.mean(axis=0), 0.01) / len(labels))
        assert (np.abs(shares - shares.mean(axis=0)) < allowed).all()
    for block in set(recipe["block"]):
        own = np.array(recipe["block"]) == block
        assert len({len(row) for row in labels[:, own]}) == 1
        assert ((labels[:, own] == 0).sum(axis=1) == (labels[0, own] == 0).sum()).all()


@given(plans(), st.integers(0, 10**6))
@settings(SETTINGS, max_examples=9)
def test_the_rest_of_a_stopped_day(mapping, cut):
    plan, order = orders_of(mapping)
    hung = order.table.iloc[: 1 + cut % len(order.table)]
    try:
        rest = make_order(plan, done=hung)
    except InputError as refused:
        assert all(fault.what and fault.do for fault in refused.faults)
        return
    columns = ["swap", "block", "position", "minutes", "word", "candidate", "specimen", "place", "role"]
    assert rest.table.iloc[: len(hung)][columns].to_numpy().tolist() == hung[columns].to_numpy().tolist()
    fresh = rest.table.iloc[len(hung) :]
    assert fresh["swap"].tolist() == list(range(len(hung) + 1, len(rest.table) + 1))
    assert not set(fresh["block"]) & set(hung["block"])
    assert rest.hung == len(hung) and len(rest.table) <= len(order.table)
    again = redraw(rest.recipe, 20, seed=1)
    codes = [rest.recipe["names"].index(name) for name in hung["candidate"]]
    assert (again.labels[:, : len(hung)] == codes).all()
