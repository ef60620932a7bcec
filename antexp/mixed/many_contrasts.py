"""Kenward and Roger's inference for contrasts of many records of one design (M3–M6).

In the coordinates a = Kᵀy an estimate is lᵀb − xᵀa with x = Var(a)⁻¹Cov(a, lᵀb). Everything M5 and M6 ask follows
from pᵢ = KᵀZᵢZᵢᵀQl: ∂(lᵀΦl)/∂γᵢ = ‖Zᵢᵀh‖² with h the weights of the estimate, and the bias term of M5 is
uᵢᵀVar(a)⁻¹uⱼ with uᵢ = KᵀZᵢZᵢᵀh.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.many_likelihood import LowRankForm, Slopes
from antexp.mixed.small_matrices import invert_small, times
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


def low_rank_pieces(asked: Asked, form: LowRankForm, gamma: Floats, spread: Floats) -> Pieces:
    """Form the pieces where the coarser term is FFᵀ; the form holds the same N records as γ.

    With N = (I + γ₂FᵀDF)⁻¹ and D = (I + γ₁λ)⁻¹, Var(a)⁻¹F = DFN, so whatever the coarser term asks is s numbers wide.
    """
    size, m, w = gamma.shape[0], asked.rows.shape[0], asked.first.size
    f, c = form.fine, form.coarse
    core = form.core(gamma)
    phi = asked.plain + gamma @ asked.marginal
    slopes, bias, shift = np.empty((size, 2, m)), np.zeros((size, w)), np.empty((size, m))
    narrow = np.linalg.lstsq(form.F, asked.pushes[c].T, rcond=None)[0]  # p of the coarser term is F · narrow
    held = []
    for row in range(m):
        push = asked.pushes[f][row]
        covariance = gamma[:, f, None] * push + gamma[:, c, None] * asked.pushes[c][row]
        x = form.solve(core, covariance)
        moved, pulled = form.values * x, x @ form.F
        shift[:, row] = (x * form.coordinates).sum(axis=1)
        slopes[:, f, row] = asked.marginal[f, row] - 2.0 * x @ push + (x * moved).sum(axis=1)
        slopes[:, c, row] = asked.marginal[c, row] - 2.0 * pulled @ narrow[:, row] + (pulled**2).sum(axis=1)
        fine, coarse = push - moved, narrow[:, row] - pulled
        weighted = core.inverse * fine
        below = weighted @ form.F
        held.append((covariance, x, fine, weighted, below, times(core.middle, below), coarse))
    inner = core.middle @ core.gram
    for pair, (a, b) in enumerate(zip(asked.first, asked.second, strict=True)):
        one, two = held[a], held[b]
        phi[:, pair] -= (one[0] * two[1]).sum(axis=1)
        own = (one[2] * two[3]).sum(axis=1) - gamma[:, c] * (one[4] * two[5]).sum(axis=1)
        mixed = (one[5] * two[6]).sum(axis=1) + (two[5] * one[6]).sum(axis=1)
        other = (one[6] * times(inner, two[6])).sum(axis=1)
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
    return np.divide(2.0 * phi**2, below, out=np.full(phi.shape, np.nan), where=below > 0)
