"""The condition of the information of many records, held against matrices of n by n.

Searle, Casella and McCulloch 1992, *Variance Components*, chapter 6 (from memory): the expected information of
variances under REML is ½ tr(P·Zᵢ Zᵢᵀ·P·Zⱼ Zⱼᵀ).
"""

from __future__ import annotations

import numpy as np
import pytest

from antexp.mixed.many_contrasts import condition_of
from antexp.mixed.many_likelihood import Slopes
from antexp.mixed.reml import CONDITION_LIMIT

N = 24
TERMS = (np.repeat(np.arange(8), 3), np.repeat(np.arange(3), 8))
X = np.column_stack([np.ones(N), np.arange(N) % 2, np.linspace(-1.0, 1.0, N)])


def projection(terms, gamma):
    """Each ZZᵀ, and P for a residual variance of one."""
    squares = [(codes[:, None] == codes[None, :]).astype(float) for codes in terms]
    H = np.eye(N) + sum((g * square for g, square in zip(gamma, squares, strict=True)), np.zeros((N, N)))
    inverse = np.linalg.inv(H)
    return squares, inverse - inverse @ X @ np.linalg.solve(X.T @ inverse @ X, X.T @ inverse)


def slopes(terms, gammas) -> Slopes:
    """What `condition_of` reads, a record each γ."""
    traces, both = [], []
    for gamma in gammas:
        squares, P = projection(terms, gamma)
        traces.append([np.trace(P @ one) for one in squares])
        both.append([[np.trace(P @ one @ P @ other) for other in squares] for one in squares])
    size, k = len(gammas), len(terms)
    unread = np.zeros(size)
    return Slopes(unread, unread, np.reshape(traces, (size, k)), np.zeros((size, k)), np.reshape(both, (size, k, k)),
                  np.zeros((size, k, k)))


def condition_by_variances(terms, gamma) -> float:
    """Of the information in (σ², σ₁², …) themselves, scaled to unit diagonal."""
    squares, P = projection(terms, gamma)
    parts = [np.eye(N), *squares]
    information = np.array([[np.trace(P @ one @ P @ other) for other in parts] for one in parts])
    scale = np.sqrt(np.diag(information))
    return float(np.linalg.cond(information / np.outer(scale, scale)))


@pytest.mark.parametrize("k", [0, 1, 2])
def test_the_condition_is_that_of_the_information_in_the_variances(k):
    gammas = np.array([[0.4, 0.9], [2.0, 0.1], [0.05, 3.0]])[:, :k]
    found = condition_of(slopes(TERMS[:k], gammas), gammas, np.ones((3, k), dtype=bool), N - 3)
    np.testing.assert_allclose(found, [condition_by_variances(TERMS[:k], gamma) for gamma in gammas], rtol=1e-9)


def test_a_term_that_is_left_out_has_no_part_in_it():
    gammas = np.array([[0.4, 0.0]])
    found = condition_of(slopes(TERMS, gammas), gammas, np.array([[True, False]]), N - 3)
    assert found[0] == pytest.approx(condition_by_variances(TERMS[:1], gammas[0, :1]), rel=1e-9)


@pytest.mark.parametrize("beyond", [0.0, 1e-9])
def test_two_terms_that_are_one_cannot_be_told_apart(beyond):
    """Rounding may turn the smallest eigenvalue negative, which is no condition either."""
    gammas = np.array([[0.5, 0.5]])
    same = slopes((TERMS[0], TERMS[0]), gammas)
    same.squares[0] += beyond * same.squares[0] * (1.0 - np.eye(2))
    found = condition_of(same, gammas, np.ones((1, 2), dtype=bool), N - 3)
    assert found[0] > CONDITION_LIMIT
