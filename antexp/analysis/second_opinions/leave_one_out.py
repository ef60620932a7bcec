"""Each swap left out in turn: whether a single hanging decides a verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

from antexp.analysis.comparisons import Estimates, family_limits, joined
from antexp.analysis.receiver_weights import fit_weighted
from antexp.analysis.result import Opinion
from antexp.analysis.scopes import ScopedFit
from antexp.analysis.second_opinions.asked import Asked
from antexp.design.random_terms import at_zero_of, group_numbers
from antexp.mixed.verdict import classify
from antexp.notices import named_gap

METHOD = "each swap left out in turn"
# Beyond so many swaps a first-order step finds the influential ones, and those alone are refitted.
_EXACT_SWAPS = 500
_MOST_INFLUENTIAL = 20
_NAMED = 5
# One swap less changes degrees of freedom and correlation; critical values move by less than this beyond the former.
_LEEWAY = 0.03
# In so large a family some gap is always that near its edge, and one critical value takes seconds: it is carried over.
_MOST_GAPS = 66


@dataclass(frozen=True)
class LeftOut:
    """What the gaps become without one swap.

    Attributes
    ----------
    swap : int
    gap_db : ndarray, shape (m,), dB
    verdicts : tuple of str
    """

    swap: int
    gap_db: NDArray[np.float64]
    verdicts: tuple[str, ...]


def leave_one_out_opinion(asked: Asked) -> Opinion:
    """Refit without each swap and tell whether a verdict changes."""
    usual = asked.verdicts(asked.family)
    critical = _Critical(asked)
    found = [one for swap in _swaps(asked) if (one := _without(asked, usual, critical, swap)) is not None]
    if not found:
        return Opinion(METHOD, None, "Not made: without any one swap there is nothing left to judge by.")
    moved = np.array([one.gap_db - asked.family.gap_db for one in found])
    row, column = np.unravel_index(np.abs(moved).argmax(), moved.shape)
    deciding = [
        (one.swap, pair, old, new)
        for one in found
        for pair, old, new in zip(asked.pairs, usual, one.verdicts, strict=True)
        if old != new
    ]
    swaps = sorted({swap for swap, *_ in deciding})
    numbers = {
        "largest_move_db": float(moved[row, column]),
        "largest_move_swap": found[row].swap,
        "refits": len(found),
        "deciding_swaps": swaps,
    }
    head = (f"Without swap {found[row].swap} {named_gap(*asked.pairs[column])} moves most, by "
            f"{moved[row, column]:+.2f} dB")
    if not deciding:
        return Opinion(METHOD, True, f"{head}; no verdict hangs on a single swap.", numbers)
    swap, pair, old, new = deciding[0]
    named = ", ".join(map(str, swaps))
    which = f"swap {named}" if len(swaps) <= _NAMED else f"any of {len(swaps)} of the {len(found)} swaps"
    text = (
        f"{head}. A verdict lies so near its edge that a single hanging decides it ({which}): without swap {swap} "
        f"{named_gap(*pair)} would be “{new}” instead of “{old}”. Look whether anything was noted about it; if nothing "
        "was, the judgement stands, and more swaps would make it firmer."
    )
    return Opinion(METHOD, False, text, numbers)


def _swaps(asked: Asked) -> list[int]:
    """List the swaps to leave out: all, or in a long record the most influential by a first-order step."""
    rows = asked.these.record.rows
    swaps = list(dict.fromkeys(rows["swap"].astype(int)))
    if len(swaps) <= _EXACT_SWAPS:
        return swaps
    influence = one_step_moves(asked.these, asked.pairs)
    return [swaps[i] for i in np.argsort(-influence)[:_MOST_INFLUENTIAL]]


def one_step_moves(fitted: ScopedFit, pairs: list[tuple[str, str]]) -> NDArray[np.float64]:
    """Return how far the gaps move without each swap, variances held, in standard errors, shape (swaps,).

    Parameters
    ----------
    fitted : ScopedFit
        A fit whose only random term is the swap, or none.
    pairs : list of (str, str)

    Returns
    -------
    ndarray
        The largest move over the gaps; swaps in order of first mention.
    """
    record, fit = fitted.record, fitted.fit
    codes = group_numbers(record.rows, ["swap"])
    noise = fit.residual_variance
    swap = fit.variances.get("swap", 0.0)
    if not np.isfinite(noise):
        noise, swap = max(swap, 1e-300), 0.0
    noise = max(noise, 1e-12)
    X, left = record.model.X, record.level_db - record.model.X @ np.nan_to_num(fit.coefficients)
    L = record.model.gaps(pairs)
    information = np.zeros((X.shape[1], X.shape[1]))
    pieces = []
    for rows in np.split(np.argsort(codes, kind="stable"), np.cumsum(np.bincount(codes))[:-1]):
        inner = np.full((len(rows), len(rows)), swap) + noise * np.eye(len(rows))
        pieces.append((rows, inner, np.linalg.solve(inner, X[rows])))
        information += X[rows].T @ pieces[-1][2]
    phi = np.linalg.pinv(information, rcond=1e-10)
    error = np.sqrt(np.einsum("ij,jk,ik->i", L, phi, L))
    moves = []
    for rows, inner, half in pieces:
        free = np.linalg.lstsq(inner - X[rows] @ phi @ X[rows].T, left[rows], rcond=1e-9)[0]
        moves.append(float(np.abs(L @ phi @ (half.T @ (inner @ free)) / error).max()))
    return np.array(moves)


def _without(asked: Asked, usual: list[str], critical: _Critical, swap: int) -> LeftOut | None:
    """Refit without one swap; None where a gap can no longer be estimated."""
    parts = []
    for fitted, pairs in asked.parts:
        record = fitted.record
        kept = (record.rows["swap"] != swap).to_numpy()
        groups = {name: codes[kept] for name, codes in record.groups.items()}
        if "swap" in groups and len(np.unique(groups["swap"])) == kept.sum():
            groups.pop("swap")
        try:
            # one swap less moves the variances little: the whole record's are where the search starts
            fit = fit_weighted(record.level_db[kept], record.model.X[kept], groups,
                               record.weights[kept] if record.weights is not None else None,
                               at_zero_of(groups), fitted.fit.variance_ratios)
            found = fit.contrasts(record.model.gaps(pairs))
        except ValueError:
            return None
        parts.append(Estimates(tuple(pairs), found.estimates, found.covariance, found.degrees_of_freedom))
    family = joined(parts)
    return LeftOut(swap, family.gap_db, _verdicts(asked, usual, critical, family))


def _verdicts(asked: Asked, usual: list[str], critical: _Critical, family: Estimates) -> tuple[str, ...]:
    """Return the verdicts without a swap; critical values are computed anew only where they could decide."""
    about = critical.at(family.degrees_of_freedom)
    half = family.standard_error_db * about
    if len(usual) > _MOST_GAPS:
        return tuple(classify(family.gap_db - half, family.gap_db + half, asked.settings.matter_db).tolist())
    for factor in (1.0 - _LEEWAY, 1.0 + _LEEWAY):
        limits = family.gap_db - factor * half, family.gap_db + factor * half
        if classify(*limits, asked.settings.matter_db).tolist() != usual:
            return tuple(asked.verdicts(family))
    return tuple(usual)


class _Critical:
    """Critical values of the full record, carried over to other degrees of freedom at the same tail."""

    def __init__(self, asked: Asked) -> None:
        limits = family_limits(asked.family, asked.settings.confidence, asked.settings.chance)
        self.tail = special.stdtr(asked.family.degrees_of_freedom, -limits.critical)

    def at(self, degrees_of_freedom: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return roughly the critical values at other degrees of freedom."""
        return np.asarray(-special.stdtrit(degrees_of_freedom, self.tail))
