"""Is the declared form of drift enough? Bends, wander and jumps that it leaves in the swaps' residuals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from antexp.analysis.checks.swap_residuals import SwapResiduals
from antexp.analysis.result import Check
from antexp.design.random_terms import walk_loadings

QUESTION = "Is the form of drift enough?"
_NEXT = {
    "none": (1, "a slope", "steady"),
    "steady": (2, "a bend", "curved"),
    "curved": (3, "a further bend", "wandering"),
}
_NEW_BLOCK = "a new block from there on"
_WORTH = 0.10  # early: a wandering path is hard to see, and makes limits too narrow

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class _Sign:
    """One statistic for the record and for chance records, what it says when it is large, and what would help."""

    seen: float
    chance: Floats
    says: str
    better: str


def drift_form_check(residuals: SwapResiduals, drift: str, reference: str) -> Check:
    """Look for what the declared drift leaves over.

    Parameters
    ----------
    residuals : SwapResiduals
    drift : str
        The form that was fitted: ``none``, ``steady`` or ``curved``.
    reference : str
        Marked in the picture.

    Notes
    -----
    Three statistics with their exact null distribution by simulation: F of the next power of time in every block; the
    locally best invariant statistic for a random walk within blocks (Nabeya & Tanaka 1988, Ann. Stat. 16:218); the
    largest jump between neighbours of a block. p is that of the smallest of the three, by the same simulation.
    """
    degree, what, better = _NEXT[drift]
    found: list[_Sign] = []
    bend = residuals.extra_f(_powers(residuals, degree))
    if bend is not None:
        found.append(_Sign(*bend, f"{what} in time is left within the blocks", better))
    found.append(_Sign(*_walk(residuals), "swaps near each other in time are alike: the path wanders", "wandering"))
    jump = _jump(residuals)
    if jump is not None:
        seen, chance, where = jump
        found.append(_Sign(seen, chance, f"the level seems to jump {where}", _NEW_BLOCK))
    p, says, better = _strongest(found)
    if p < _WORTH:
        advice = (f"Start {better}, if something happened then" if better == _NEW_BLOCK
                  else f"--drift {better} allows for it")
        answer = f"Perhaps not: {says}. {advice}; a form chosen afterwards is said to be one."
    else:
        answer = "Nothing says it is not: no bend, no wander and no jump beyond chance is left over."
    is_reference = residuals.swaps["candidate"] == reference
    data = residuals.swaps.assign(residual_db=residuals.residual_db, reference=is_reference)
    return Check("drift-form", QUESTION, answer, p, p < _WORTH, "drift-form-not-enough" if p < _WORTH else None, data)


def _powers(residuals: SwapResiduals, degree: int) -> Floats:
    """Return the next power of centred time in each block of enough swaps."""
    columns = []
    for _, inside in residuals.swaps.groupby("block", sort=False):
        if len(inside) < degree + 2:
            continue
        hours = (inside["minutes"] - inside["minutes"].mean()).to_numpy() / 60.0
        column = np.zeros(len(residuals.swaps))
        column[inside.index] = hours**degree
        columns.append(column)
    return np.column_stack(columns) if columns else np.zeros((len(residuals.swaps), 1))


def _walk(residuals: SwapResiduals) -> tuple[float, Floats]:
    """Return the share of the residual squares that lies along a random walk within blocks."""
    loadings = walk_loadings(residuals.swaps)

    def along(values: Floats) -> Floats:
        return np.asarray(((loadings.T @ values) ** 2).sum(axis=0) / (values**2).sum(axis=0))

    return float(along(residuals.residual_db[:, None])[0]), along(residuals.chance)


def _strongest(found: list[_Sign]) -> tuple[float, str, str]:
    """Return the p of the strongest sign, as the strongest of all that were looked for; what it says, what helps."""
    if not found:
        return 1.0, "", ""
    draws = found[0].chance.size
    own = np.array([(1 + (sign.chance >= sign.seen - 1e-12).sum()) / (1 + draws) for sign in found])
    by_chance = np.min([1.0 - (np.argsort(np.argsort(sign.chance)) - 0.5) / draws for sign in found], axis=0)
    # signs that chance never reached are told apart by how far beyond it they lie
    best = min(range(len(found)), key=lambda i: (own[i], -found[i].seen / float(found[i].chance.max())))
    p = float((1 + (by_chance <= own[best] + 1e-12).sum()) / (1 + draws))
    return p, found[best].says, found[best].better


def _jump(residuals: SwapResiduals) -> tuple[float, Floats, str] | None:
    """Return the largest single jump within a block, in standard errors, and where it is."""
    steps, where = [], []
    for block, inside in residuals.swaps.groupby("block", sort=False):
        for cut in range(2, len(inside) - 1):
            column = np.zeros(len(residuals.swaps))
            column[inside.index[cut:]] = 1.0
            steps.append(column)
            where.append(f"before swap {int(inside['swap'].iloc[cut])} of block {block}")
    if not steps:
        return None
    columns = residuals.project(np.column_stack(steps))
    length = np.sqrt((columns**2).sum(axis=0))
    kept = length > 0.3  # what the fixed terms carry nearly whole cannot be seen
    if not kept.any() or residuals.left < 4:
        return None
    unit = columns[:, kept] / length[kept]

    def largest(values: Floats) -> Floats:
        share = (unit.T @ values) ** 2 / (values**2).sum(axis=0)
        return np.asarray(share.max(axis=0))

    seen = residuals.residual_db[:, None]
    best = int(((unit.T @ seen)[:, 0] ** 2).argmax())
    return float(largest(seen)[0]), largest(residuals.chance), np.array(where)[kept][best]
