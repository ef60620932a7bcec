"""Incomplete blocks: what the exchange search finds, measured against designs known to be best."""

from collections import Counter

import numpy as np
import pytest

from antexp.design.exchange import BlockDemand, block_information, search, targets
from antexp.design.information import contrast_rows, mean_variance
from antexp.design.order import make_order
from antexp.design.order_facts import kind_of_blocks, never_in_one_block
from antexp.plan.reader import plan_from_dict


def demand(k, blocks, size, references=2, weights=None, asked="reference"):
    pairs = [(i, 0) for i in range(1, k + 1)]
    if asked == "each-other":
        pairs = [(i, j) for j in range(k + 1) for i in range(j + 1, k + 1)]
    return BlockDemand(np.full(blocks, size), np.full(blocks, references), np.ones((k, blocks), int),
                       np.ones(k) if weights is None else np.array(weights, float), contrast_rows(pairs, k + 1),
                       np.zeros((k, k)), np.zeros(k, int))


def value(demanded, N):
    return mean_variance(block_information(demanded, N)[None], demanded.asked)[0]


@pytest.mark.parametrize(("k", "blocks", "size", "references", "variance"),
                         [(7, 7, 3, 1, 0.53333333), (7, 7, 3, 2, 0.44871795), (4, 6, 2, 1, 0.57142857),
                          (6, 10, 3, 1, 0.32941176), (9, 12, 3, 2, 0.33088235)])
def test_the_search_alone_reaches_the_balanced_design(k, blocks, size, references, variance):
    """C08 (Bechhofer & Tamhane 1981): the variance of balanced blocks with the reference in each is the target."""
    asked = demand(k, blocks, size, references)
    found = search(asked, np.random.default_rng(1), starts=20)
    assert (found.sum(axis=0) == size).all() and set(found.sum(axis=1)) == {blocks * size // k}
    assert value(asked, found) == pytest.approx(variance, rel=1e-6)


def test_exchange_beats_the_random_fillings_it_starts_from():
    asked = demand(12, 8, 4, asked="each-other")
    found = value(asked, search(asked, np.random.default_rng(3), starts=5))
    rng = np.random.default_rng(4)
    random = []
    for _ in range(200):
        N = np.zeros((12, 8), int)
        order = rng.permutation(np.repeat(np.arange(12), 3)[:32])
        for b in range(8):
            for code in order[4 * b : 4 * b + 4]:
                N[code, b] += 1
        if N.max() == 1:
            random.append(value(asked, N))
    assert found < min(random)


def test_targets_share_the_room_by_weight():
    assert targets(demand(4, 4, 3)).tolist() == [3, 3, 3, 3]
    assert targets(demand(4, 5, 3, weights=[2, 1, 1, 1])).tolist() == [5, 4, 3, 3]  # at most once a block
    assert sorted(targets(demand(5, 4, 3)).tolist()) == [2, 2, 2, 3, 3]


def test_what_hangs_already_counts_towards_the_targets():
    done = demand(4, 2, 2)
    done = BlockDemand(done.room, done.references, done.most, done.weights, done.asked, np.diag([1.0, 1, 0, 0]),
                       np.array([1, 1, 0, 0]))
    found = search(done, np.random.default_rng(1), starts=3)
    total = found.sum(axis=1) + done.hung
    assert total.sum() == 6 and total.max() - total.min() == 1


def incomplete(names, blocks, minutes, **more):
    return make_order(plan_from_dict({"candidates": [f"w{i}" for i in range(names)], **more,
                                      "field": {"blocks": blocks, "block_minutes": minutes, "minutes_per_swap": 5}}))


def test_a_plan_whose_numbers_allow_balance_gets_it():
    order = incomplete(8, 7, 25)  # seven candidates, three a block between two references: λ = 1
    assert kind_of_blocks(order) == "balanced incomplete" and never_in_one_block(order) == ()
    assert set(Counter(order.table["candidate"]).values()) == {3, 14}


def test_a_plan_whose_numbers_do_not_is_not_called_balanced():
    order = incomplete(9, 7, 25)
    assert kind_of_blocks(order) == "incomplete"
    assert never_in_one_block(order)


def test_unequal_sittings_make_unequal_blocks():
    plan = plan_from_dict({"candidates": [f"w{i}" for i in range(8)],
                           "field": {"sittings": ["09:00-10:20", "11:00-11:50", "13:00-14:20"], "block_minutes": 80,
                                     "minutes_per_swap": 7}})
    order = make_order(plan)
    assert order.table.groupby("block").size().tolist() == [10, 7, 10]
    assert order.block_starts == (540.0, 660.0, 780.0)
    counts = Counter(order.table.loc[order.table["role"] == "candidate", "candidate"])
    assert set(counts.values()) == {2, 3}
