"""Kenward and Roger's inference for contrasts of many records of one design (M3–M6).

In the coordinates a = Kᵀy an estimate is lᵀb − xᵀa with x = Var(a)⁻¹Cov(a, lᵀb). Everything M5 and M6 ask follows
from pᵢ = KᵀZᵢZᵢᵀQl: ∂(lᵀΦl)/∂γᵢ = ‖Zᵢᵀh‖² with h the weights of the estimate, and the bias term of M5 is
uᵢᵀVar(a)⁻¹uⱼ with uᵢ = KᵀZᵢZᵢᵀh.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.contrasts import whole_one
from antexp.mixed.low_rank_form import Core, LowRankForm, apply, dot
from antexp.mixed.many_likelihood import Slopes
from antexp.mixed.small_matrices import invert_small
from antexp.mixed.spectrum import Spectrum


@dataclass(frozen=True)
class Asked:
    """Contrast rows of one design, prepared.

    Attributes
    ----------
    rows : ndarray, shape (m, r)
        On the orthonormal columns.
    first, second : ndarray of int, shape (w,)
        Pairs of rows whose covariance is asked: (i, i) for the m rows first, then, if asked, i < j.
    plain : ndarray, shape (w,)
        lₐᵀl_b.
    marginal : ndarray, shape (k, w)
        lₐᵀQᵀGᵢQl_b.
    pushes : tuple of ndarray, shape (m, d)
        pᵢ of each row; its length is k.
    meets : bool
        False where every pᵢ is zero: then estimates are the ordinary ones whatever γ (balanced designs).
    """

    rows: Floats
    first: Integers
    second: Integers
    plain: Floats
    marginal: Floats
    pushes: tuple[Floats, ...]
    meets: bool


def ask(design: Spectrum, rows: Floats, covariances: bool) -> Asked:
    """Prepare contrast rows, shape (m, r), for a design."""
    m = rows.shape[0]
    first = second = np.arange(m)
    if covariances:
        i, j = np.triu_indices(m, 1)
        first, second = np.concatenate([first, i]), np.concatenate([second, j])
    reached = [rows @ reach.T for reach in design.reach]
    marginal = np.array([(t[first] * t[second]).sum(axis=1) for t in reached]).reshape(len(reached), first.size)
    pushes = tuple(t @ span.T for t, span in zip(reached, design.span, strict=True))
    size = max(float(marginal.max(initial=0.0)), 1e-300)
    meets = any(np.abs(p).max(initial=0.0) ** 2 > 1e-18 * size * design.weights.max(initial=1.0) for p in pushes)
    return Asked(rows, first, second, (rows[first] * rows[second]).sum(axis=1), marginal, pushes, meets)


@dataclass(frozen=True)
class Pieces:
    """Variances, derivatives and bias of the asked pairs, relative to σ².

    Attributes
    ----------
    phi : ndarray, shape (N, w)
        lₐᵀΦl_b.
    slopes : ndarray, shape (N, k, m)
        ∂(lᵀΦl)/∂γᵢ.
    bias : ndarray, shape (N, w)
        The sum in M5, so that Φ_A = Φ + 2 · bias.
    shift : ndarray, shape (N, m), dB
        xᵀa, to be taken off the ordinary estimate.
    """

    phi: Floats
    slopes: Floats
    bias: Floats
    shift: Floats


def spread_of(slopes: Slopes, keep: Floats, free: int) -> Floats:
    """Return W in (V, γ₁, …), shape (N, k + 1, k + 1), zero for terms that are left out (M4).

    Parameters
    ----------
    slopes : Slopes
    keep : ndarray of bool, shape (N, k)
    free : int
        n − r.
    """
    size, k = keep.shape
    information = np.zeros((size, k + 1, k + 1))
    information[:, 0, 0] = free / 2.0
    information[:, 0, 1:] = information[:, 1:, 0] = np.where(keep, slopes.traces, 0.0) / 2.0
    both = keep[:, :, None] & keep[:, None, :]
    information[:, 1:, 1:] = np.where(both, slopes.squares, 0.0) / 2.0
    out = np.arange(1, k + 1)
    information[:, out, out] += np.where(keep, 0.0, 1.0)
    with np.errstate(all="ignore"):  # a singular one shows in `condition_of`
        spread, _ = invert_small(information)
    spread[:, out, out] -= np.where(keep, 0.0, 1.0)
    return spread


def condition_of(slopes: Slopes, gamma: Floats, keep: Floats, free: int) -> Floats:
    """Return the condition of W⁻¹ in (σ², σ₁², …), scaled to unit diagonal, shape (N,)."""
    size, k = keep.shape
    information = np.zeros((size, k + 1, k + 1))
    information[:, 0, 0] = free
    information[:, 0, 1:] = information[:, 1:, 0] = slopes.traces
    information[:, 1:, 1:] = slopes.squares
    turn = np.broadcast_to(np.eye(k + 1), information.shape).copy()
    turn[:, 1:, 0] = -gamma
    turned = np.swapaxes(turn, 1, 2) @ information @ turn
    used = np.concatenate([np.ones((size, 1), dtype=bool), keep], axis=1)
    turned = np.where(used[:, :, None] & used[:, None, :], turned, np.eye(k + 1))
    scale = np.sqrt(np.maximum(np.einsum("nii->ni", turned), 1e-300))
    unit = turned / (scale[:, :, None] * scale[:, None, :])
    if k == 0:
        return np.ones(size)
    if k == 1:
        c = np.minimum(np.abs(unit[:, 0, 1]), 1.0)
        with np.errstate(divide="ignore"):
            return (1.0 + c) / (1.0 - c)
    values = np.linalg.eigvalsh(unit)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(values[:, 0] > 0, values[:, -1] / values[:, 0], np.inf)


def diagonal_pieces(
    asked: Asked, weights: Floats, pool: Integers, gamma: Floats, spread: Floats, coordinates: Floats
) -> Pieces:
    """Form the pieces where every term is diagonal.

    Parameters
    ----------
    asked : Asked
    weights : ndarray, shape (k, P)
    pool : ndarray of int, shape (d,)
    gamma : ndarray, shape (N, k)
    spread : ndarray, shape (N, k + 1, k + 1)
    coordinates : ndarray, shape (N, d)
    """
    size, k = gamma.shape
    m, w = asked.rows.shape[0], asked.first.size
    phi = asked.plain + gamma @ asked.marginal
    slopes = np.broadcast_to(asked.marginal[None, :, :m], (size, k, m)).copy()
    bias, shift = np.zeros((size, w)), np.zeros((size, m))
    if not asked.meets:
        return Pieces(phi, slopes, bias, shift)
    inverse = 1.0 / (1.0 + gamma @ weights)
    gather = np.zeros((pool.size, weights.shape[1]))
    gather[np.arange(pool.size), pool] = 1.0
    # How far a unit of pₐ goes into uᵢ: δᵢₐ − λᵢγₐ/Var(a), shape (N, P, k, k).
    into = np.eye(k) - weights.T[None, :, :, None] * gamma[:, None, None, :] * inverse[:, :, None, None]
    mixed = np.einsum("npia,nij,npjb->npab", into, spread[:, 1:, 1:], into) * inverse[:, :, None, None]
    for a in range(k):
        shift += gamma[:, a, None] * ((coordinates * inverse[:, pool]) @ asked.pushes[a].T)
        for b in range(k):
            product = (asked.pushes[a][asked.first] * asked.pushes[b][asked.second]) @ gather
            both = (gamma[:, a] * gamma[:, b])[:, None]
            phi -= both * (inverse @ product.T)
            bias += mixed[:, :, a, b] @ product.T
            slopes[:, a] -= 2.0 * gamma[:, b, None] * (inverse @ product[:m].T)
            for i in range(k):
                slopes[:, i] += both * ((weights[i] * inverse**2) @ product[:m].T)
    return Pieces(phi, slopes, bias, shift)


@dataclass(frozen=True)
class _Row:
    """One contrast of N records where the coarser term is FFᵀ.

    Attributes
    ----------
    x : ndarray, shape (d, N)
        Var(a)⁻¹Cov(a, lᵀb).
    pulled : ndarray, shape (s, N)
        Fᵀx.
    fine, coarse : ndarray, shape (d, N) and (s, N)
        u of the finer term, and of the coarser one in columns of F.
    weighted : ndarray, shape (d, N)
        D · fine.
    below, turned : ndarray, shape (s, N)
        Fᵀ · weighted, and N times that.
    """

    x: Floats
    pulled: Floats
    fine: Floats
    coarse: Floats
    weighted: Floats
    below: Floats
    turned: Floats


def _row(form: LowRankForm, core: Core, gamma: Floats, push: Floats, narrow: Floats) -> _Row:
    """Work out one contrast with p of the finer term `push`, and of the coarser one F · `narrow`."""
    shared = form.design
    g1, g2, F = gamma[:, shared.fine], core.coarse, shared.F
    through = apply(core.middle, (F.T * push) @ core.inverse)  # FᵀVar(a)⁻¹p
    x = core.inverse * (push[:, None] * g1 + F @ (g2 * (apply(core.middle, narrow[:, None]) - g1 * through)))
    pulled = g1 * through + g2 * apply(core.reach, narrow[:, None])
    fine = push[:, None] - shared.values[:, None] * x
    weighted = core.inverse * fine
    below = F.T @ weighted
    return _Row(x, pulled, fine, narrow[:, None] - pulled, weighted, below, apply(core.middle, below))


def low_rank_pieces(asked: Asked, form: LowRankForm, gamma: Floats, spread: Floats) -> Pieces:
    """Form the pieces where the coarser term is FFᵀ; the form holds the same N records as γ."""
    parts = [_low_rank_pieces(asked, form.take(rows), gamma[rows], spread[rows]) for rows in form.blocks()]
    return Pieces(*(np.concatenate([getattr(part, each.name) for part in parts]) for each in fields(Pieces)))


def _low_rank_pieces(asked: Asked, form: LowRankForm, gamma: Floats, spread: Floats) -> Pieces:
    """Form the pieces of one block of records."""
    size, m, w = gamma.shape[0], asked.rows.shape[0], asked.first.size
    shared, core = form.design, form.core(gamma)
    f, c = shared.fine, shared.coarse
    push = asked.pushes[f]
    narrow = np.linalg.lstsq(shared.F, asked.pushes[c].T, rcond=None)[0]  # p of the coarser term is F · narrow
    phi = asked.plain + gamma @ asked.marginal
    slopes, bias, shift = np.empty((size, 2, m)), np.empty((size, w)), np.empty((size, m))
    rows = [_row(form, core, gamma, push[row], narrow[:, row]) for row in range(m)]
    for i, row in enumerate(rows):
        shift[:, i] = dot(row.x, form.coordinates)
        slopes[:, f, i] = asked.marginal[f, i] - 2.0 * push[i] @ row.x + shared.values @ row.x**2
        slopes[:, c, i] = asked.marginal[c, i] - 2.0 * narrow[:, i] @ row.pulled + dot(row.pulled, row.pulled)
    for pair, (a, b) in enumerate(zip(asked.first, asked.second, strict=True)):
        one, two = rows[a], rows[b]
        phi[:, pair] -= gamma[:, f] * (push[a] @ two.x) + gamma[:, c] * (narrow[:, a] @ two.pulled)
        own = dot(one.fine, two.weighted) - gamma[:, c] * dot(one.below, two.turned)
        mixed = dot(one.turned, two.coarse) + dot(two.turned, one.coarse)
        other = dot(one.coarse, apply(core.reach, two.coarse))
        bias[:, pair] = spread[:, f + 1, f + 1] * own + spread[:, c + 1, c + 1] * other
        bias[:, pair] += spread[:, f + 1, c + 1] * mixed
    return Pieces(phi, slopes, bias, shift)


def degrees_of_freedom(phi: Floats, slopes: Floats, spread: Floats) -> Floats:
    """Return 2(lᵀΦl)²/(gᵀWg), shape (N, m) (M6).

    Parameters
    ----------
    phi : ndarray, shape (N, m)
    slopes : ndarray, shape (N, k, m)
    spread : ndarray, shape (N, k + 1, k + 1)
    """
    g = np.concatenate([phi[:, None, :], slopes], axis=1)
    below = np.einsum("nim,nij,njm->nm", g, spread, g, optimize=True)
    return whole_one(np.divide(2.0 * phi**2, below, out=np.full(phi.shape, np.nan), where=below > 0))
