"""The form of two terms against the same formulas with whole matrices, and its grid against itself."""

import numpy as np
import pytest

from antexp.mixed.low_rank import START, LowRank
from antexp.mixed.low_rank_form import BLOCK, LowRankForm

DIRECTIONS, RANK, FREE = 12, 4, 40
GAMMA = np.array([[0.7, 0.3], [0.0, 2.0], [1.5, 0.0], [0.2, 1e-7], [0.0, 0.0], [3.0, 40.0]])


@pytest.fixture(params=[0, 1], ids=["finer first", "coarser first"])
def form(request):
    rng = np.random.default_rng(5)
    values, F = rng.uniform(0.5, 6.0, DIRECTIONS), rng.normal(size=(DIRECTIONS, RANK))
    shared = LowRank(FREE, request.param, 1 - request.param, values, F, np.array([0.3, 0.1]))
    return LowRankForm(shared, rng.normal(size=(DIRECTIONS, len(GAMMA))), rng.uniform(20.0, 30.0, len(GAMMA)))


def whole(form, gamma):
    """Return Var(a) and its derivatives by each γ."""
    shared = form.design
    parts = [np.diag(shared.values), shared.F @ shared.F.T]
    if shared.fine == 1:
        parts.reverse()
    return np.eye(DIRECTIONS) + gamma[0] * parts[0] + gamma[1] * parts[1], parts


def test_slopes_against_whole_matrices(form):
    slopes, deviance = form.slopes(GAMMA), form.deviance(GAMMA)
    for n, gamma in enumerate(GAMMA):
        variance, parts = whole(form, gamma)
        a, inverse = form.coordinates[:, n], np.linalg.inv(variance)
        quadratic = form.rest[n] + a @ inverse @ a
        expected = FREE * np.log(quadratic) + np.linalg.slogdet(variance)[1]
        assert slopes.deviance[n] == pytest.approx(expected, rel=1e-12)
        assert deviance[n] == pytest.approx(expected, rel=1e-12)
        assert slopes.quadratic[n] == pytest.approx(quadratic, rel=1e-12)
        for i, one in enumerate(parts):
            assert slopes.traces[n, i] == pytest.approx(np.trace(inverse @ one), rel=1e-9)
            assert slopes.lengths[n, i] == pytest.approx(a @ inverse @ one @ inverse @ a, rel=1e-9)
            for j, two in enumerate(parts):
                # Next to zero NG keeps about 12 digits (see low_rank_form).
                assert slopes.squares[n, i, j] == pytest.approx(np.trace(inverse @ one @ inverse @ two), rel=1e-9)
                form_ij = a @ inverse @ one @ inverse @ two @ inverse @ a
                assert slopes.forms[n, i, j] == pytest.approx(form_ij, rel=1e-9, abs=1e-12)


def test_solve_and_extra_square(form):
    core = form.core(GAMMA)
    solved = form.solve(core, form.coordinates)
    between = form.between_square(GAMMA[:, form.design.fine])
    for n, gamma in enumerate(GAMMA):
        variance, _ = whole(form, gamma)
        np.testing.assert_allclose(solved[:, n], np.linalg.solve(variance, form.coordinates[:, n]), rtol=1e-9)
        # The drop of the residual sum of squares when F is fitted too, by weighted least squares.
        root = np.sqrt(1.0 + gamma[form.design.fine] * form.design.values)
        scaled, F = form.coordinates[:, n] / root, form.design.F / root[:, None]
        fitted = F @ np.linalg.lstsq(F, scaled, rcond=None)[0]
        assert between[n] == pytest.approx(fitted @ fitted, rel=1e-9)


def test_the_start_is_no_worse_than_its_grid(form):
    shared, start = form.design, form.start()
    grid = [np.array([[g * shared.unit[0], h * shared.unit[1]]] * len(GAMMA)) for g in START for h in START]
    least = np.min([form.deviance(gamma) for gamma in grid], axis=0)
    # The parabola is a guess: it may cost a little, far less than a step of the grid.
    assert np.all(form.deviance(start) < least + 0.05)
    line = shared.starts_of_search[3].deviance(form.coordinates, form.rest, np.full(len(GAMMA), 0.7))
    gamma = np.empty((len(GAMMA), 2))
    gamma[:, shared.fine], gamma[:, shared.coarse] = START[3] * shared.unit[shared.fine], 0.7
    np.testing.assert_allclose(line, form.deviance(gamma), rtol=1e-12)


def test_blocks_change_nothing(form):
    rng = np.random.default_rng(6)
    size = BLOCK + 7
    many = LowRankForm(form.design, rng.normal(size=(DIRECTIONS, size)), rng.uniform(20.0, 30.0, size))
    gamma = rng.uniform(0.0, 2.0, (size, 2))
    rows = np.array([0, BLOCK - 1, BLOCK, size - 1])
    np.testing.assert_allclose(many.slopes(gamma).squares[rows], many.take(rows).slopes(gamma[rows]).squares)
    np.testing.assert_allclose(many.start()[rows], many.take(rows).start())
