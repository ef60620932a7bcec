"""Orders of complete blocks: counts, reference spacing, reproducibility."""

import numpy as np
import pytest

from antexp.analysis.judge import judge
from antexp.design.order import make_order
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict

NAMES = [f"wire {letter}" for letter in "RABCDEFG"]


def plan(names=8, **field):
    return plan_from_dict({"candidates": NAMES[:names], "matter_db": 1.0,
                           "field": {"blocks": 5, "minutes_per_swap": 7, **field}})


def longest_stretch(codes):
    longest = run = 0
    for role in codes:
        run = 0 if role == "reference" else run + 1
        longest = max(longest, run)
    return longest


def test_the_scenario_of_five_blocks_of_ten():
    order = make_order(plan(reference_every=5))
    table = order.table
    assert order.swaps == 50 and order.blocks == 5
    for _, block in table.groupby("block"):
        positions = block.loc[block["role"] == "reference", "position"].tolist()
        assert positions == [1, 6, 10]
        assert sorted(block.loc[block["role"] == "candidate", "candidate"]) == sorted(NAMES[1:])
        assert longest_stretch(block["role"]) < 5
    assert table["swap"].tolist() == list(range(1, 51))
    assert table["minutes"].tolist() == [7.0 * (p - 1) for p in table["position"]]
    assert table["word"].is_unique


def test_left_out_the_reference_follows_the_square_root_rule():
    """Dunnett (1955): √7 ≈ 2.6, so three reference swaps beside seven candidates; √3 ≈ 1.7 is the two ends."""
    assert (make_order(plan(8)).table["role"] == "reference").sum() == 5 * 3
    assert (make_order(plan(4)).table["role"] == "reference").sum() == 5 * 2


def test_same_plan_and_seed_same_order_other_seed_other_order():
    one, again, other = make_order(plan()), make_order(plan()), make_order(plan(seed=2))
    assert one.table.equals(again.table) and one.to_dict() == again.to_dict() and one.recipe == again.recipe
    assert not one.table["candidate"].equals(other.table["candidate"])
    assert not one.table["word"].equals(other.table["word"])


def test_without_blocks_as_many_as_fit_the_hours():
    five_lines = plan_from_dict({"candidates": NAMES[:4], "frequency_mhz": 14.2, "hours": 5, "matter_db": 1,
                                 "meter": "spectrum analyser"})
    order = make_order(five_lines)
    assert order.blocks == 8  # 5 h are 42 swaps of 7 min; a complete block is 5 swaps
    assert order.hours == pytest.approx(40 * 7 / 60)


def test_hours_and_minutes_typed_in_decimal_hold_all_their_swaps():
    """2.2 h are 30 swaps of 4.4 min, six complete blocks, though 2.2 × 60 / 4.4 is a little less as a double."""
    assert 2.2 * 60 / 4.4 < 30
    assert make_order(plan(4, blocks=None, hours=2.2, minutes_per_swap=4.4)).blocks == 6


def test_more_blocks_than_minutes_says_what_would_fit():
    with pytest.raises(OrderError) as caught:
        make_order(plan_from_dict({"candidates": NAMES[:4], "hours": 2, "field": {"blocks": 6, "block_minutes": 75}}))
    assert "3 block(s) fit" in str(caught.value) and "6 block(s) of 5 swaps, 35 min" in str(caught.value)


def test_the_document_has_the_keys_of_the_contract():
    document = make_order(plan(4)).to_dict()
    assert {"swaps", "blocks", "hours", "precision_kept", "gaps", "seed"} <= set(document)
    assert {"candidate", "against", "standard_error_db", "resolution_db", "tied_to_time"} <= set(document["gaps"][0])
    assert [gap["candidate"] for gap in document["gaps"]] == NAMES[1:4]
    assert 0 < document["precision_kept"] <= 1


def test_names_with_commas_can_be_told_apart_in_a_notice():
    plan = plan_from_dict({"candidates": [{"name": "copper, 1 mm", "specimens": 2}, "steel, 2 mm", "brass, 1 mm"],
                           "field": {"blocks": 5}})
    notice = next(notice for notice in make_order(plan).warnings if notice.code == "few-specimens")
    assert notice.text.startswith("One specimen of “steel, 2 mm”, “brass, 1 mm”: ")


@pytest.mark.parametrize(("wires", "each", "any_specimen"), [(4, 2, True), (3, 2, False), (4, 1, False)])
def test_the_order_says_when_the_judgement_will_be_about_any_specimen(wires, each, any_specimen):
    """Its own numbers are for the specimens that hang; the judgement of the same day has limits well beyond them."""
    tables = [{"name": f"w{i}", "specimens": each} for i in range(wires)]
    read = plan_from_dict({"candidates": tables, "matter_db": 1, "field": {"blocks": 6, "seed": 1}})
    order = make_order(read)
    said = [notice.code for notice in order.warnings]
    assert ("order-for-these-specimens" in said) == any_specimen
    day = order.table.assign(level_db=np.random.default_rng(5).normal(-60.0, 0.4, len(order.table)))
    gaps = judge(day, read).gaps
    assert (gaps.loc[gaps["counts"], "scope"] == "any specimen").all() == any_specimen
