"""What a look says about going on, from the blocks that each open gap still needs."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.mixed.verdict import CANNOT_TELL, REAL_AND_MATTERS
from antexp.plan.reader import plan_from_dict

PLAN = {"candidates": ["bare", "clad", "steel"], "frequency_mhz": 14.2, "matter_db": 1, "field": {"blocks": 8}}


@pytest.fixture(scope="module")
def look():
    random = np.random.default_rng(2)
    hung = [(block, i, str(name)) for block in range(4)
            for i, name in enumerate(["bare", *random.permutation(["clad", "steel"]), "bare"])]
    rows = [(n + 1, block + 1, name, 7.0 * i, -50 + random.normal(0, 0.3)) for n, (block, i, name) in enumerate(hung)]
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return judge(table, plan_from_dict(PLAN)).look


def gaps(*open_gaps):
    """One settled gap, and others that need so many blocks."""
    verdicts = [REAL_AND_MATTERS, *([CANNOT_TELL] * len(open_gaps))]
    return pd.DataFrame({"verdict": verdicts, "counts": True, "more_blocks": [None, *open_gaps]})


@pytest.mark.parametrize(
    ("needed", "said"),
    [
        ((), "Every gap looks settled; go on as planned all the same."),
        ((2, 3), "Go on: 2 of 3 gaps cannot be told yet; about 3 of the 4 blocks to come would settle them."),
        ((4,), "about 4 of the 4 blocks"),
        ((2, 9), "may not settle all of them (about 9 more would be needed)"),
        ((2, None), "may not settle all of them (at least 2 more would be needed)"),
        ((float("nan"),), "no number of blocks in sight would settle them; stopping now loses little."),
    ],
)
def test_whether_to_go_on(look, needed, said):
    assert look is not None and (look.done, look.planned) == (4, 8)
    text = " ".join(notice.text for notice in look.notices(gaps(*needed)))
    assert said in text


def test_only_a_planned_look_says_that_one_may_stop(look):
    planned = replace(look, is_planned=True, stops=(4, 8))
    assert "you may stop here" in planned.notices(gaps())[0].text
    assert "you may stop" not in look.notices(gaps())[0].text
