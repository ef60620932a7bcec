"""Is the declared form of drift enough? Bends, wander and jumps that it leaves in the swaps' residuals."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from antexp.analysis.checks.swap_residuals import SwapResiduals
from antexp.analysis.result import Check

QUESTION = "Is the form of drift enough?"
_NEXT = {
    "none": (1, "a slope", "steady"),
    "steady": (2, "a bend", "curved"),
    "curved": (3, "a further bend", "wandering"),
    "wandering": (2, "a bend", "wandering"),
}
_NEW_BLOCK = "a new block from there on"
_WORTH = 0.05

Floats = NDArray[np.float64]


def drift_form_check(residuals: SwapResiduals, drift: str, reference: str) -> Check:
    """Look for what the declared drift leaves over.

    Parameters
    ----------
    residuals : SwapResiduals
    drift : str
        The form that was fitted.
    reference : str
        Marked in the picture.

    Returns
    -------
    Check

    Notes
    -----
    Three statistics with their exact null distribution by simulation: F of the next power of time in every block; the
    mean product of neighbours within blocks (a wandering path makes neighbours alike); the largest step between two
    neighbours of a block that further columns of one jump would show. The smallest p counts three times (Bonferroni).
    With ``wandering`` the path's own walk is still in the residuals, so that only a bend is looked for.
    """
    degree, what, better = _NEXT[drift]
    found: list[tuple[float, str, str]] = []
    bend = residuals.extra_f(_powers(residuals, degree))
    if bend is not None:
        found.append((residuals.p_value(*bend), f"{what} in time is left within the blocks", better))
    if drift != "wandering":
        found.append((residuals.p_value(*_neighbours(residuals)), "swaps that follow each other are alike: the path "
                      "wanders", "wandering"))
        jump = _jump(residuals)
        if jump is not None:
            seen, chance, where = jump
            found.append((residuals.p_value(seen, chance), f"the level seems to jump {where}", _NEW_BLOCK))
    p, says, better = min(found, default=(1.0, "", ""))
    p = min(1.0, p * len(found))
    if p < _WORTH:
        advice = (f"Start {better}, if something happened then" if better == _NEW_BLOCK
                  else f"--drift {better} allows for it")
        answer = f"Perhaps not: {says} (p = {p:.2g}). {advice}; a form chosen afterwards is said to be one."
    else:
        answer = f"Nothing says it is not (p = {p:.2g}): no bend, no wander and no jump beyond chance is left over."
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


def _neighbours(residuals: SwapResiduals) -> tuple[float, Floats]:
    """Return the mean product of neighbours within blocks, in residual variances."""
    block = residuals.swaps["block"].to_numpy()
    first = np.flatnonzero(block[1:] == block[:-1])

    def alike(values: Floats) -> Floats:
        return np.asarray((values[first] * values[first + 1]).sum(axis=0) / (values**2).sum(axis=0))

    return float(alike(residuals.residual_db[:, None])[0]), alike(residuals.chance)


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
