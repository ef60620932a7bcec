"""The climb over readings that are ranges: where it may start, how it ends when nothing is to be gained."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from antexp.mixed.cell_likelihood import CellLikelihood, Value, cell_likelihood
from antexp.mixed.cell_search import Point, climb

ROW = np.array([-1.0, 1.0])


def point(information):
    value = Value(0.0, np.zeros(4), -np.pad(information, ((0, 2), (0, 2))))
    return Point(np.array([0.3, 1.0]), 0.0, -1.0, value, np.ones(4, dtype=bool), True, 1)


@pytest.mark.parametrize(
    "information",
    [np.array([[4.0, 1.0], [1.0, 2.0]]), np.diag([1.0, 0.0]), np.zeros((2, 2)), -np.eye(2)],
    ids=["hill", "ridge", "plain", "hollow"],
)
def test_a_shifted_point_has_the_asked_gap(information):
    """Whatever the likelihood looks like there: it is where the search under a held gap begins."""
    beta, log_tau, log_sigma = point(information).shifted(ROW, 2.5)
    assert ROW @ beta == pytest.approx(2.5)
    assert np.all(np.abs(beta) < 3.0) and (log_tau, log_sigma) == (0.0, -1.0)


def test_a_shift_goes_along_the_valley():
    """The level that is known ten times better stays ten times as still (least squares with a constraint)."""
    beta, _, _ = point(np.diag([10.0, 1.0])).shifted(ROW, 1.8)
    assert beta - [0.3, 1.0] == pytest.approx([-0.1, 1.0])


class Misled(CellLikelihood):
    """A likelihood whose derivative promises ever so much that no step, however short, brings."""

    def at(self, beta, tau, sigma):
        true = super().at(beta, tau, sigma)
        return replace(true, log_likelihood=-float(np.abs(beta - 1.0).sum() > 0.0), gradient=true.gradient + 1e4)


def test_a_climb_that_gets_nowhere_says_so_and_stays():
    swap = np.repeat(np.arange(4), 2)
    plain = cell_likelihood(np.full(8, 0.5), np.full(8, 1.5), np.ones((8, 1)), swap)
    misled = Misled(plain.X, plain.low, plain.high, plain.weight)
    found = climb(misled, np.ones(1), -1.0, -1.0, (-5.0, -5.0))
    assert not found.converged and found.evaluations > 10
    assert found.beta == pytest.approx([1.0]) and found.log_tau == found.log_sigma == -1.0
