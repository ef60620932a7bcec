"""Restricted randomisation: threshold, rules, redraws from the same set."""

import itertools

import numpy as np
import pytest

from antexp.design.order import make_order
from antexp.design.randomisation import redraw
from antexp.plan.reader import plan_from_dict

NAMES = [f"wire {letter}" for letter in "RABCDE"]


@pytest.fixture(scope="module")
def order():
    return make_order(plan_from_dict({"candidates": NAMES, "field": {"blocks": 4}}))


def test_the_order_lies_at_or_below_its_threshold(order):
    recipe = order.recipe
    assert recipe["stream_a_draws"] == 2000
    assert recipe["kept_share"] >= 0.10
    assert recipe["threshold"] >= recipe["best"] * 1.02
    drawn = redraw(recipe, 300, seed=7)
    assert (drawn.variances <= recipe["threshold"]).all()


def test_redraws_keep_the_references_and_the_candidates_of_a_block(order):
    drawn = redraw(order.recipe, 300, seed=7)
    codes = np.array([order.recipe["names"].index(name) for name in order.table["candidate"]])
    assert ((drawn.labels == 0) == (codes == 0)).all()
    for block in order.table["block"].unique():
        own = (order.table["block"] == block).to_numpy()
        assert (np.sort(drawn.labels[:, own], axis=1) == np.sort(codes[own])).all()


def test_redraws_are_seeded_and_differ(order):
    one, again, other = (redraw(order.recipe, 50, seed=s).labels for s in (1, 1, 2))
    assert (one == again).all() and (one != other).any()
    assert len({tuple(row) for row in one.tolist()}) > 45


def test_the_set_is_symmetric_in_candidates(order):
    """Every candidate stands in every drawn slot equally often: 5 candidates, so one time in five."""
    labels = redraw(order.recipe, 20_000, seed=3).labels
    drawn = np.array(order.recipe["fixed"]) < 0
    shares = np.array([(labels[:, drawn] == code).mean(axis=0) for code in range(1, 6)])
    assert np.abs(shares - 0.2).max() < 5 * np.sqrt(0.2 * 0.8 / 20_000)  # five standard errors over 100 cells


def test_no_candidate_always_early_or_always_behind_the_same_neighbour(order):
    labels = redraw(order.recipe, 500, seed=4).labels
    block = np.array(order.recipe["block"])
    for row in labels:
        halves = {code: set() for code in range(1, 6)}
        before = {code: set() for code in range(1, 6)}
        for b in range(4):
            own = row[block == b]
            hung = own[own > 0]
            for i, code in enumerate(hung):
                halves[code].add(np.sign(i - 2))
            for previous, code in itertools.pairwise(own):
                if code > 0:
                    before[code].add(previous)
        assert all(len(signs) > 1 or signs == {0} for signs in halves.values())
        assert all(len(names) > 1 or names == {0} for names in before.values())
