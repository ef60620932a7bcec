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


@pytest.mark.parametrize(
    ("swaps", "said"), [(3, "Only 1 swap is left over"), (5, "Only 3 swaps are left over"), (6, None)]
)
def test_few_swaps_to_spare_are_counted(swaps, said):
    """Two wires in one block without drift take two of the swaps."""
    found = judge(record((["bare", "clad"] * 3)[:swaps]), reference="bare", matter_db=1.0, drift="none")
    texts = [notice.text for notice in found.warnings if notice.code == "few-degrees-of-freedom"]
    assert len(texts) == (said is not None) and all(text.startswith(str(said)) for text in texts)


def test_receivers_that_are_averaged_add_no_swaps():
    table = pd.concat([record(["bare", "clad"] * 2).assign(receiver=name) for name in "ab"], ignore_index=True)
    table.loc[4:, "level_db"] += np.array([0.3, -0.2, 0.1, -0.4])
    found = judge(table, reference="bare", matter_db=1.0, drift="none")
    assert any("Only 2 swaps are left over" in notice.text for notice in found.warnings)


@pytest.mark.parametrize("where", ["readings", "evening.csv"])
def test_two_wires_hung_once_each_are_refused_where_they_stand(where, tmp_path):
    table = record(["bare", "clad"])
    path = tmp_path / where
    table.to_csv(path, index=False)
    with pytest.raises(JudgementError, match="every candidate was hung once only") as caught:
        judge(path if "." in where else table, reference="bare", matter_db=1.0, drift="none")
    assert where in str(caught.value) and "None" not in str(caught.value)
