"""Whether one swap is odd."""

from __future__ import annotations

import numpy as np

from antexp.analysis.checks.swap_residuals import SwapResiduals
from antexp.analysis.result import Check
from antexp.decibels import signed_db

QUESTION = "Is one swap odd?"
_WORTH, _WARN = 0.05, 0.01


def odd_swap_check(residuals: SwapResiduals) -> Check:
    """Find the swap that lies farthest from what the others say of it.

    Notes
    -----
    The largest externally studentised residual (Cook & Weisberg 1982, Residuals and Influence in Regression), its null
    distribution by simulation, so that the largest of many is judged as that.
    """
    room = 1.0 - residuals.leverage
    free = room > 1e-6
    left = residuals.left

    def studentised(values: np.ndarray) -> np.ndarray:
        inner = values[free] ** 2 / room[free][:, None]
        whole = (values**2).sum(axis=0)
        return np.sqrt(inner * (left - 1) / np.maximum(whole - inner, 1e-300))

    seen = np.zeros(len(room))
    seen[free] = studentised(residuals.residual_db[:, None])[:, 0]
    worst = int(seen.argmax())
    p = residuals.p_value(float(seen.max()), studentised(residuals.chance).max(axis=0))
    signed = np.sign(residuals.residual_db) * seen
    data = residuals.swaps.assign(residual_db=residuals.residual_db, studentised=signed)
    row = residuals.swaps.iloc[worst]
    off = float(residuals.residual_db[worst] / room[worst])
    if p < _WORTH:
        answer = (
            f"Swap {int(row['swap'])} (“{row['candidate']}”, block {row['block']}) lies {signed_db(off)} dB from what "
            "the others say of it. If a reason was noted, leave it out with keep = 0; if none was, it stays."
        )
    else:
        answer = (
            f"None stands out: swap {int(row['swap'])} (“{row['candidate']}”) lies farthest, {signed_db(off)} dB from "
            "what the others say of it, as chance has it."
        )
    about = (str(row["candidate"]),) if p < _WORTH else ()
    return Check("odd-swap", QUESTION, answer, p, p < _WORTH, "odd-swap" if p < _WARN else None, data, about)
