"""The search for the relative variances of many records at once: the single search's rules, vectorised."""

from __future__ import annotations

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.low_rank_form import LowRankForm
from antexp.mixed.many_form import Form
from antexp.mixed.many_likelihood import Slopes
from antexp.mixed.search import GRID, SECOND_LOOK

MOST_STEPS = 100

LAST_STEP = 3e-5
"""A Newton step in log γ shorter than this leaves an error of some 1e-9, its square: no need to look again."""


def maximise_many(form: Form, unit: Floats) -> tuple[Floats, Slopes]:
    """Find every record's relative variances.

    Parameters
    ----------
    form : DiagonalForm or LowRankForm
        N records.
    unit : ndarray, shape (k,)
        Natural size of each γ: 1 / mean readings per level.

    Returns
    -------
    gamma : ndarray, shape (N, k)
    slopes : Slopes
        At the answer.

    Notes
    -----
    Coarse grid, Newton in log γ with halving, terms set to zero and released by their derivative, and for two terms
    a last look over the grid along each alone, as in `antexp.mixed.search`.
    """
    if not unit.size:
        gamma = np.zeros((form.rest.size, 0))
        return gamma, form.slopes(gamma)
    gamma = form.start() if isinstance(form, LowRankForm) else _best_of_grid(form, unit)
    _descend(form, gamma, unit, np.arange(gamma.shape[0]))
    slopes = form.slopes(gamma)
    if unit.size > 1:
        moved = _elsewhere(form, gamma, slopes.deviance, unit)
        if moved.size:
            _descend(form, gamma, unit, moved)
            slopes.put(moved, form.take(moved).slopes(gamma[moved]))
    return gamma, slopes


def _best_of_grid(form: Form, unit: Floats) -> Floats:
    """Take for each record the best of a few common multiples."""
    size = form.rest.size
    deviances = np.stack([form.deviance(np.broadcast_to(g * unit, (size, unit.size))) for g in GRID[1:]])
    return np.asarray(GRID[1:])[deviances.argmin(axis=0)][:, None] * unit


def _descend(form: Form, gamma: Floats, unit: Floats, active: Integers) -> None:
    """Bring the active records down, in place."""
    releases = np.zeros(gamma.shape, dtype=int)
    part, here = form.take(active), gamma[active]
    slopes = part.slopes(here)
    for _ in range(MOST_STEPS):
        gradient = slopes.gradient(part.free)
        step = _log_step(here, gradient, slopes, part.free, here > 0)
        leaving = (here == 0) & (gradient * unit < -1e-9) & (releases[active] < 5)
        still = np.abs(step).max(axis=1) < LAST_STEP
        here[still] *= np.exp(step[still])  # the last step is taken on trust
        release = still & leaving.any(axis=1)
        if release.any():
            rows = np.flatnonzero(release)
            out = part.take(rows)
            here[rows] = _release(out, here[rows], gradient[rows], slopes, rows, leaving[rows])
            slopes.put(rows, out.slopes(here[rows]))
            releases[active[rows]] += leaving[rows]
        move = np.flatnonzero(~still)
        stuck = np.zeros(active.size, dtype=bool)
        if move.size:
            stuck[move] = _move(part, here, step, gradient, slopes, unit, move)
        gamma[active] = here
        onward = np.flatnonzero((~still | release) & ~stuck)
        if not onward.size:
            return
        active, part, here, slopes = active[onward], part.take(onward), here[onward], slopes.take(onward)


def _move(
    form: Form, gamma: Floats, step: Floats, gradient: Floats, slopes: Slopes, unit: Floats, rows: Integers
) -> Floats:
    """Take one step each for some rows, in place: to zero where that is better, else along the Newton direction.

    Returns who is stuck, shape as `rows`.
    """
    before, open_ = slopes.deviance[rows], np.ones(rows.size, dtype=bool)
    here, ahead, now = gamma[rows], step[rows], gradient[rows]
    # So short, or with so little to gain, that the last digit of the deviance decides nothing.
    small = (np.abs(ahead).max(axis=1) < 1e-4) | (np.abs((now * here * ahead).sum(axis=1)) < 1e-10)

    def accept(some: Integers, good: Floats, trial: Floats, at: Slopes) -> None:
        gamma[rows[some[good]]] = trial[good]
        slopes.put(rows[some[good]], at.take(good))
        open_[some[good]] = False

    heading = (here > 0) & (ahead < 0) & ((here < 0.05 * unit) | ((here < unit) & (ahead < -0.7)))
    some = np.flatnonzero(heading.any(axis=1))
    if some.size:
        trial = np.where(heading[some], 0.0, here[some])
        at = form.take(rows[some]).slopes(trial)
        slope = at.gradient(form.free)
        outward = np.where(heading[some], slope, 0.0) >= 0
        accept(some, np.flatnonzero((at.deviance <= before[some]) & outward.all(axis=1)), trial, at)
        ahead[some] = np.where(heading[some], _above_zero(ahead[some], slope, now[some]), ahead[some])
    for halving in range(40):
        some = np.flatnonzero(open_)
        if not some.size:
            break
        trial = here[some] * np.exp(0.5**halving * ahead[some])
        at = form.take(rows[some]).slopes(trial)
        slack = np.where(small[some] & (halving == 0), 1e-9, 0.0)
        accept(some, np.flatnonzero(at.deviance < before[some] + slack), trial, at)
    return open_


def _above_zero(step: Floats, at_zero: Floats, here: Floats) -> Floats:
    """Return the log step of terms that head for zero but are not let go there.

    Where the derivative changes sign in between, the hill is about where a straight line does; else a long step would
    lose it where logs hardly matter.
    """
    between = (at_zero < 0) & (here > 0)
    share = np.where(between, -at_zero, 1.0) / np.where(between, here - at_zero, 1.0)
    return np.where(between, np.maximum(np.log(share), -3.0), np.maximum(step, -1.0))


def _release(
    form: Form, gamma: Floats, gradient: Floats, slopes: Slopes, rows: Integers, leaving: Floats
) -> Floats:
    """Move terms off the edge whose derivative points inwards."""
    curvature = np.einsum("nkk->nk", slopes.expected(form.free)[rows])
    size = np.where(leaving, -gradient / np.maximum(curvature, 1e-300), 0.0)
    before, result, open_ = slopes.deviance[rows], gamma.copy(), np.ones(rows.size, dtype=bool)
    for _ in range(60):
        todo = np.flatnonzero(open_)
        if not todo.size:
            break
        trial = gamma[todo] + size[todo]
        good = form.take(todo).deviance(trial) < before[todo]
        result[todo[good]] = trial[good]
        open_[todo[good]] = False
        size[todo] /= 4.0
    return result


def _log_step(gamma: Floats, gradient: Floats, slopes: Slopes, free_df: int, free: Floats) -> Floats:
    """Return the Newton step in log γ, 0 for terms at zero, at most 3."""
    slope = np.where(free, gamma * gradient, 0.0)
    outer = gamma[:, :, None] * gamma[:, None, :]
    k = gamma.shape[1]
    diagonal = np.eye(k, dtype=bool)
    observed = slopes.hessian(free_df) * outer + np.where(diagonal, slope[:, :, None], 0.0)
    expected = slopes.expected(free_df) * outer
    pinned = ~(free[:, :, None] & free[:, None, :])
    observed, expected = (np.where(pinned, np.where(diagonal, 1.0, 0.0), each) for each in (observed, expected))
    good, step = _solve_definite(observed, slope)
    also, other = _solve_definite(expected, slope)
    # Beside a term next to zero, whose log hardly matters, neither may be definite: then each term for itself.
    alone = np.clip(slope / np.maximum(np.einsum("nkk->nk", expected), 1e-300), -3.0, 3.0)
    step = np.where(good[:, None], step, np.where(also[:, None], other, alone))
    largest = np.abs(step).max(axis=1, initial=0.0)
    return -step * np.minimum(1.0, 3.0 / np.maximum(largest, 1e-300))[:, None]


def _solve_definite(matrices: Floats, right: Floats) -> tuple[Floats, Floats]:
    """Solve 1 × 1 or 2 × 2 systems and tell which matrices are safely positive definite."""
    if matrices.shape[1] == 1:
        a = matrices[:, 0, 0]
        good = a > 0
        return good, right / np.where(good, a, 1.0)[:, None]
    a, b, c = matrices[:, 0, 0], matrices[:, 0, 1], matrices[:, 1, 1]
    determinant = a * c - b * b
    # Smallest over largest eigenvalue is about determinant / trace².
    good = (a > 0) & (c > 0) & (determinant > 1e-10 * (a + c) ** 2)
    safe = np.where(good, determinant, 1.0)
    first = (c * right[:, 0] - b * right[:, 1]) / safe
    second = (a * right[:, 1] - b * right[:, 0]) / safe
    return good, np.stack([first, second], axis=1)


def _elsewhere(form: Form, gamma: Floats, deviance: Floats, unit: Floats) -> Integers:
    """Move records, in place, to a better hill along one term alone; return which moved."""
    best, answer = deviance.copy(), gamma.copy()
    moved = np.zeros(gamma.shape[0], dtype=bool)
    for term in range(unit.size):
        for i, g in enumerate(SECOND_LOOK):
            trial = gamma.copy()
            trial[:, term] = g * unit[term]
            if isinstance(form, LowRankForm) and term == form.design.fine:
                found = form.second_look(i, gamma[:, form.design.coarse])
            else:
                found = form.deviance(trial)
            better = found < best - 1e-7
            answer[better], best[better] = trial[better], found[better]
            moved |= better
    gamma[:] = answer
    return np.flatnonzero(moved)
