"""Balanced incomplete block designs against the published parameter sets (tests/reference/C07, Fisher & Yates 1963)."""

import json
from pathlib import Path

import numpy as np
import pytest

from antexp.design.balanced_blocks import balanced_blocks, is_balanced, pair_count

CASE = json.loads((Path(__file__).parents[1] / "reference" / "C07_bibd_parameters.json").read_text("utf-8"))
ROWS = [row for row in CASE["data"]["rows"] if row[0] <= 21]


@pytest.mark.parametrize(("v", "k", "b", "r", "pairs", "efficiency"), ROWS)
def test_every_published_set_is_found(v, k, b, r, pairs, efficiency):
    blocks = balanced_blocks(v, k, b)
    assert blocks is not None and len(blocks) == b and all(len(set(block)) == k for block in blocks)
    N = np.zeros((v, b))
    for column, block in enumerate(blocks):
        N[list(block), column] = 1
    assert (N.sum(axis=1) == r).all()
    off = (N @ N.T)[~np.eye(v, dtype=bool)]
    assert (off == pairs).all()
    information = np.diag(N.sum(axis=1)) - N @ N.T / k
    average = np.mean(np.linalg.eigvalsh(information)[1:]) / r  # average efficiency factor
    assert average == pytest.approx(efficiency, abs=CASE["tolerance"]["efficiency_abs"])


@pytest.mark.parametrize(("v", "k", "b", "r", "pairs"), CASE["nonexistent"][1:])
def test_non_existent_designs_are_not_claimed(v, k, b, r, pairs):
    assert pair_count(v, k, b) == pairs  # the counting identities hold, and still there is none
    assert balanced_blocks(v, k, b) is None


def test_the_non_existent_15_5_21_is_given_up_in_time():
    assert balanced_blocks(15, 5, 21) is None


@pytest.mark.parametrize(("v", "k", "b"), [(7, 3, 8), (8, 3, 8), (6, 3, 5), (5, 5, 5), (7, 1, 7)])
def test_numbers_that_cannot_balance_have_no_pair_count(v, k, b):
    assert pair_count(v, k, b) is None
    assert balanced_blocks(v, k, b) is None


def test_several_copies_where_no_smaller_search_is_needed():
    blocks = balanced_blocks(7, 3, 14)
    assert blocks is not None and is_balanced(blocks, 7)


def test_is_balanced_counts():
    assert not is_balanced(((0, 1), (0, 1), (0, 2)), 3)
    assert is_balanced(((0, 1), (1, 2), (0, 2)), 3)
