"""Records that cannot be judged are refused in words that say what would help."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.errors import JudgementError


def record(hung, blocks=None):
    """Invented levels for a list of wires."""
    random = np.random.default_rng(1)
    return pd.DataFrame({
        "swap": np.arange(1, len(hung) + 1), "block": blocks or [1] * len(hung), "candidate": hung,
        "minutes": 7.0 * np.arange(len(hung)) ** 1.1, "level_db": -50 + random.normal(0, 0.3, len(hung)),
    })


@pytest.mark.parametrize(
    ("hung", "drift", "said"),
    [
        (["bare"] * 6, "none", r"there is nothing to compare.*6 swap\(s\) of 1 candidate\(s\)"),
        (["bare"], "none", r"there is nothing to compare.*1 swap\(s\) of 1 candidate\(s\)"),
        (["bare", "clad", "bare", "clad"], "curved", r"nothing is left over.*4 swaps for .*--drift steady"),
        (["bare", "clad", "bare"], "steady", r"nothing is left over.*3 swaps for .*--drift none"),
    ],
)
def test_what_would_help_is_said(hung, drift, said):
    with pytest.raises(JudgementError, match=f"(?s){said}"):
        judge(record(hung), reference="bare", matter_db=1.0, drift=drift)


def test_where_no_simpler_drift_helps_more_swaps_are_asked_for():
    hung, blocks = ["bare", "clad", "bare", "steel", "bronze"], [1, 1, 2, 2, 2]
    with pytest.raises(JudgementError, match="No simpler form of drift helps: more swaps are needed"):
        judge(record(hung, blocks), reference="bare", matter_db=1.0, drift="steady")
