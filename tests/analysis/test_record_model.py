"""Receivers that are averaged, and receivers that are modelled one by one."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.record_model import record_model


def record(readings=(2, 3)) -> pd.DataFrame:
    """Six invented swaps of two wires at two receivers, unlike numbers of readings."""
    random = np.random.default_rng(2)
    rows = [(swap, "1", "ref" if swap % 2 else "B", receiver, 7.0 * swap + i, random.normal(-50, 0.3))
            for swap in range(6) for receiver, number in zip("ab", readings, strict=True) for i in range(number)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "receiver", "minutes", "level_db"])
    return table.assign(specimen="1", place="1")


def test_receivers_that_saw_every_swap_count_alike_in_its_mean():
    """By hand: the mean of the two receivers' means, however often each was read."""
    table = record()
    found = record_model(table, reference="ref", drift="none")
    by_hand = table.groupby(["swap", "receiver"])["level_db"].mean().groupby("swap").mean()
    assert found.averaged_receivers == 2 and found.weights is None and found.groups == {}
    np.testing.assert_allclose(found.level_db, by_hand)


@pytest.mark.parametrize(("table", "groups"), [
    (record().drop(index=[0, 1]), ["swap", "swap_receiver"]),  # receiver a missed the first swap
    (record((1, 1)).drop(index=[0]), ["swap"]),  # read once each, swap by receiver is the reading itself
])
def test_receivers_that_missed_a_swap_have_levels_of_their_own(table, groups):
    found = record_model(table, reference="ref", drift="none")
    assert found.averaged_receivers == 1 and len(found.level_db) == len(table)
    assert list(found.groups) == groups
    assert found.model.X.shape[1] == 3  # a level each, and the gap


def test_one_receiver_is_no_mean():
    found = record_model(record((2, 0)), reference="ref", drift="none")
    assert found.averaged_receivers == 1 and list(found.groups) == ["swap"] and found.model.X.shape[1] == 2
