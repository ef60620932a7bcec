"""How a fit of a record treats a swap scatter that ends at zero."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
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
    fit = fit_these(record_model(table, reference="ref", drift=drift)).fit
    assert fit.variances["swap"] == 0.0
    assert fit.error_line_rule is ruled


@pytest.mark.parametrize(("of_c", "scope"), [(3, "any specimen"), (1, "these specimens")])
def test_the_best_is_any_specimen_only_where_every_wire_has_several(of_c, scope):
    random = np.random.default_rng(6)
    rows = []
    for swap in range(36):
        name = ["ref", "B", "C"][swap % 3]
        specimen = swap // 3 % (of_c if name == "C" else 3)
        rows += [(swap + 1, swap // 6, name, str(specimen), 7.0 * (swap % 6), random.normal(-50, 0.3))
                 for _ in range(2)]  # fmt: skip
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "specimen", "minutes", "level_db"])
    plain = judge(table, reference="ref", matter_db=1.0, drift="none")
    best = judge(table, reference="ref", matter_db=1.0, drift="none", compare="best")
    assert set(best.gaps["scope"]) == {scope}
    assert plain.family.set_index("candidate")["scope"].to_dict() == {"B": "any specimen", "C": scope}
