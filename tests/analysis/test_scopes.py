"""How a fit of a record treats a swap scatter that ends at zero."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.record_model import record_model
from antexp.analysis.scopes import fit_these
from antexp.field.readings import read_readings


def record() -> pd.DataFrame:
    """Three invented wires whose hangings do not scatter, four noisy readings each, centred swap by swap."""
    random = np.random.default_rng(5)
    rows, swap = [], 0
    for block in range(4):
        for position, name in enumerate(["ref", *random.permutation(["B", "C"]), "ref"]):
            swap += 1
            noise = random.normal(0, 0.3, 4)
            rows += [(swap, block, name, 7.0 * position, -50.0 + each) for each in noise - noise.mean()]
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


@pytest.mark.parametrize(("drift", "ruled"), [("steady", True), ("none", True), ("wandering", False)])
def test_swaps_at_zero_are_judged_by_their_own_line_unless_the_path_wanders(drift, ruled):
    table = read_readings(record()).table
    fit = fit_these(record_model(table, reference="ref", drift=drift), drift).fit
    assert fit.variances["swap"] == 0.0
    assert fit.error_line_rule is ruled
