"""Whether one wire scatters more than the others."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.analysis.checks.swap_residuals import SwapResiduals
from antexp.analysis.result import Check

QUESTION = "Does one wire scatter more than the others?"
_WORTH = 0.05


def unequal_scatter_check(residuals: SwapResiduals) -> Check:
    """Compare the candidates' shares of the residual squares with what chance gives them.

    Notes
    -----
    For each candidate Σr²/Σ(1 − h), h the leverage; the largest ratio of one candidate's to that of all others
    together, its null distribution by simulation of the same projection.
    """
    codes, names = pd.factorize(residuals.swaps["candidate"])
    member = (codes[:, None] == np.arange(len(names))).astype(float)
    share = member.T @ (1.0 - residuals.leverage)
    seen_enough = share > 0.5

    def ratios(values: np.ndarray) -> np.ndarray:
        squares = member.T @ values**2
        own = squares / np.maximum(share, 1e-9)[:, None]
        rest = (squares.sum(axis=0) - squares) / np.maximum(share.sum() - share, 1e-9)[:, None]
        ratio = own / np.maximum(rest, 1e-300)
        ratio[~seen_enough] = 0.0
        return ratio

    seen = ratios(residuals.residual_db[:, None])[:, 0]
    worst = int(seen.argmax())
    p = residuals.p_value(float(seen.max()), ratios(residuals.chance).max(axis=0))
    data = residuals.swaps.assign(residual_db=residuals.residual_db)
    if p < _WORTH:
        answer = (
            f"“{names[worst]}” does: its hangings scatter {np.sqrt(seen[worst]):.1f} times as much as the others'. "
            "The limits of its gaps are then too narrow, those of the other gaps too wide. Look at its "
            "clamps, its slack and its feed."
        )
    else:
        answer = "Nothing says so."
    about = (str(names[worst]),) if p < _WORTH else ()
    return Check("unequal-scatter", QUESTION, answer, p, p < _WORTH, "unequal-scatter" if about else None, data, about)
