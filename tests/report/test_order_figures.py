"""The picture of the swap order holds what the order holds."""

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.plan.reader import plan_from_dict
from antexp.report.order_figures import order_figure
from antexp.report.order_text import order_answer, order_sentences, print_order
from antexp.report.pictures import as_png, as_svg


@pytest.fixture(scope="module")
def order():
    return make_order(plan_from_dict({"candidates": ["R", "z wire", "a wire"], "field": {"blocks": 4}}))


def test_a_mark_for_every_swap_and_a_row_for_every_candidate(order):
    axes = order_figure(order)
    reference, others = axes.collections[:2]
    assert len(reference.get_offsets()) == 8 and len(others.get_offsets()) == 8
    assert set(np.asarray(reference.get_offsets())[:, 1]) == {0}
    assert [label.get_text() for label in axes.get_yticklabels()] == ["R", "z wire", "a wire"]  # as in the plan
    texts = [text.get_text() for text in axes.texts]
    assert [f"block {b}" for b in range(1, 5)] == [text for text in texts if text.startswith("block")]
    assert {str(swap) for swap in range(1, 17)} <= set(texts)


def test_time_runs_across_in_the_order_of_the_swaps(order):
    axes = order_figure(order)
    points = np.vstack([np.asarray(marks.get_offsets()) for marks in axes.collections[:2]])
    rows = points[np.argsort(points[:, 0]), 1].astype(int)
    assert [["R", "z wire", "a wire"][row] for row in rows] == order.table["candidate"].tolist()


def test_the_picture_is_the_same_every_time(order):
    assert as_png(order_figure(order)) == as_png(order_figure(order))
    assert as_svg(order_figure(order)) == as_svg(order_figure(order))


def test_specimens_and_places_stand_below_the_marks():
    many = make_order(plan_from_dict({"candidates": [{"name": n, "specimens": 2} for n in "RAB"],
                                      "field": {"blocks": 6, "places": 2}}))
    axes = order_figure(many)
    assert "specimen / place" in axes.get_xlabel()
    assert {"1/1", "2/2"} <= {text.get_text() for text in axes.texts}


def test_the_text_says_what_the_order_is(order, capsys):
    assert order_answer(order).startswith("4 blocks, 16 swaps, 1 h 52 min of swapping: gaps beyond ")
    print_order(order)
    out = capsys.readouterr().out
    assert "Every candidate hangs in every block." in out and "Swaps 5, 9 and 13" in out


def test_the_text_says_what_a_small_block_leaves_out():
    from antexp.design.order_report import order_report

    small = make_order(plan_from_dict({"candidates": [f"w{i}" for i in range(9)],
                                       "field": {"blocks": 8, "block_minutes": 35}}))
    said = " ".join(order_sentences(small, order_report(small)))
    assert "A block does not hold all candidates" in said and "Never in one block: “" in said
