"""Whether a verdict would stand, if the gap's wires were judged by their own scatter."""

from __future__ import annotations

import numpy as np
import pandas as pd

from antexp.analysis.record_model import swap_means
from antexp.analysis.scopes import ScopedFit
from antexp.design.random_terms import group_numbers
from antexp.mixed.verdict import CANNOT_TELL, REAL, classify
from antexp.notices import Notice, named_gap

_WORTH = 1.25
"""Own scatter over that of all from which other verdicts than `real` are looked at too, as they often lie near an edge:
with it 35 of 360 simulated days of wires that scatter alike got the notice, without it 64
(`tests/benchmarks/equal_scatter.py`)."""


def own_scatter_notices(fitted: ScopedFit, gaps: pd.DataFrame, matter_db: float | None) -> list[Notice]:
    """Name the gaps whose verdict rests on the wires scattering alike.

    Parameters
    ----------
    fitted : ScopedFit
        The fit for these specimens.
    gaps : DataFrame
        The judgement's gaps.
    matter_db : float or None, dB
        The gap that matters.

    Notes
    -----
    The variance of a gap as Σ wᵢ²·s², w its weights on the swaps' means and s² the residual variance of the wire that
    hung, Σr²/Σ(1 − h) over its swaps (as in Welch 1947, Biometrika 34:28), against the critical value of the limits. A
    test for unequal scatter sees a wire that scatters twice as much in a third of records only; this asks where it
    matters.
    """
    told = gaps[gaps["counts"] & (gaps["verdict"] != CANNOT_TELL)]
    told = told[[against in fitted.record.model.candidates for against in told["against"]]]
    if told.empty or "walk" in fitted.record.groups:
        return []
    codes = group_numbers(fitted.record.rows, ["swap"])
    X, y = swap_means(codes, fitted.record.model.X), swap_means(codes, fitted.record.level_db)
    inverse = np.linalg.pinv(X, rcond=1e-9)
    residual, leverage = y - X @ (inverse @ y), np.einsum("ij,ji->i", X, inverse)
    wire = pd.factorize(fitted.record.rows.drop_duplicates("swap")["candidate"])[0]
    free = np.bincount(wire, 1.0 - leverage)
    own = np.bincount(wire, residual**2) / np.maximum(free, 1e-9)
    pooled = float((residual**2).sum() / max(free.sum(), 1e-9))
    # a wire with hardly a swap of its own left over is judged by the others' scatter
    variance = np.where(free > 0.5, own, pooled)[wire]
    named, pairs = [], []
    for row in told.to_dict(orient="records"):
        weights = fitted.record.model.gap(str(row["candidate"]), str(row["against"])) @ inverse
        factor = np.sqrt(float((weights**2 * variance).sum()) / float((weights**2).sum() * pooled))
        wider = factor * row["resolution_db"] * np.array([-1.0, 1.0]) + row["gap_db"]
        verdict = str(classify(wider[:1], wider[1:], matter_db)[0])
        least = 1.0 if row["verdict"] in REAL and verdict not in REAL else _WORTH
        if factor > least and verdict != row["verdict"]:
            pairs.append((str(row["candidate"]), str(row["against"])))
            named.append(f"{named_gap(*pairs[-1])} (by its own scatter “{verdict}”, not "
                         f"“{row['verdict']}”)")
    if not named:
        return []
    text = (
        f"{'This verdict holds' if len(named) == 1 else 'These verdicts hold'} only if all wires scatter alike: "
        f"{', '.join(named)}. In this record a wire of the gap scattered more than the others. More hangings of it "
        "would tell."
    )
    return [Notice("rests-on-equal-scatter", text, tuple(pairs))]
