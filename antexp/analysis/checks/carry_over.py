"""Whether the wire that hung before leaves a trace."""

from __future__ import annotations

import numpy as np

from antexp.analysis.checks.swap_residuals import SwapResiduals
from antexp.analysis.result import Check
from antexp.decibels import signed_db

QUESTION = "Does the wire that hung before leave a trace?"
_WORTH, _WARN = 0.05, 0.01


def carry_over_check(residuals: SwapResiduals) -> Check | None:
    """Test whether the level depends on what hung before in the same block.

    Returns
    -------
    Check or None
        None where too few swaps are left over to ask.

    Notes
    -----
    F of one further column a previous candidate (Jones & Kenward 2014, Design and Analysis of Cross-Over Trials),
    its null distribution by simulation.
    """
    before = residuals.swaps.groupby("block", sort=False)["candidate"].shift()
    names = list(dict.fromkeys(before.dropna()))
    if len(names) < 2:
        return None
    columns = np.column_stack([(before == name).to_numpy(float) for name in names])
    found = residuals.extra_f(columns)
    if found is None:
        return None
    p = residuals.p_value(*found)
    data = residuals.swaps.assign(residual_db=residuals.residual_db, before=before)
    data = data[data["before"].notna()].reset_index(drop=True)
    about: tuple[str, ...] = ()
    if p < _WORTH:
        means = data.groupby("before")["residual_db"].mean()
        worst = str(means.abs().idxmax())
        about = (worst,)
        answer = (
            f"Perhaps: swaps after “{worst}” lie {signed_db(float(means[worst]))} dB off. Look for what stays behind: "
            "a stretched halyard, a moved feed line, a mast that leans."
        )
    else:
        answer = "Nothing says so."
    return Check("carry-over", QUESTION, answer, p, p < _WORTH, "carry-over" if p < _WARN else None, data, about)
