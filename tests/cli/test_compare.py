"""`antexp compare` as a command: words, picture and data say the same."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge

NAMES = ["bare", "clad", "steel"]


@pytest.fixture(scope="module")
def days(tmp_path_factory):
    """Two invented days; the steel wire lost 3 dB between them."""
    folder = tmp_path_factory.mktemp("days")
    for name, lost_db, seed in (("spring", 0.0, 1), ("autumn", 3.0, 2)):
        random = np.random.default_rng(seed)
        hung = [(block, i, wire) for block in range(5) for i, wire in enumerate([*random.permutation(NAMES), "bare"])]
        rows = [(1 + 4 * block + i, block, wire, 7.0 * i, -50 - lost_db * (wire == "steel") + random.normal(0, 0.2))
                for block, i, wire in hung]  # fmt: skip
        table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
        (folder / name).mkdir()
        result = judge(table, reference="bare", matter_db=1.0)
        (folder / name / "results.json").write_text(result.to_json(), encoding="utf-8")
    return folder


def test_words_and_picture(antexp, days, tmp_path):
    ran = antexp("compare", days / "spring", days / "autumn", "-o", tmp_path / "pictures")
    assert ran.status == 0 and "“steel”" in ran.out and "does not agree" in ran.out
    assert {path.suffix for path in (tmp_path / "pictures").iterdir()} == {".svg", ".png"}


def test_json_tells_the_wire_that_changed_from_the_one_that_did_not(antexp, days):
    document = json.loads(antexp("compare", days / "spring", days / "autumn", "--json").out)
    change = {row["candidate"]: row["change_db"] for row in document["changes"]}
    assert change["steel"] == pytest.approx(-3.0, abs=0.5)
    assert abs(change["clad"]) < 0.5


def test_a_confidence_that_is_none_is_refused(antexp, days):
    ran = antexp("compare", days / "spring", days / "autumn", "--confidence", "95")
    assert ran.status == 2 and "Traceback" not in ran.err and "95" in ran.err
