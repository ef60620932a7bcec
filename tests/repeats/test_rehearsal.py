"""The rehearsal judges as the judgement does, and its shares are those of the closed form."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.design.order import make_order
from antexp.errors import JudgementError, RepeatsError
from antexp.mixed.verdict import VERDICTS
from antexp.plan.reader import plan_from_dict
from antexp.repeats import rehearsal_chunk
from antexp.repeats.closed_form import closed_form
from antexp.repeats.planned_gaps import planned_gaps, spreads_of
from antexp.repeats.rehearsal import _shared, rehearse, rehearsed_record
from antexp.repeats.rehearsal_chunk import judge_chunk
from antexp.repeats.scoped_model import scoped_models

STATED = {"scale": "dBm", "step_db": 0.1, "reading_sd_db": 0.3, "readings": 3}


def _plan(names=("a", "b", "c"), question=None, meter=None, **field):
    return plan_from_dict({
        "candidates": list(names), "question": {"matter_db": 1.0, **(question or {})},
        "meter": {**STATED, **(meter or {})}, "field": {"blocks": 3, "minutes_per_swap": 6, **field},
    })


TWO_EACH = [{"name": name, "specimens": 2} for name in "abcde"]
MIXED = [*TWO_EACH[:4], "e"]

CASES = {
    "plain": (_plan(), {}),
    "all pairs": (_plan(question={"compare": "each-other"}), {}),
    "quiet hangings, the rule at zero": (_plan(rehang_sd_db=0.02), {}),
    "one reading": (_plan(meter={"readings": 1}), {}),
    "reading times": (_plan(), {"reading_gap_minutes": 0.5}),
    "no drift": (_plan(drift="none"), {}),
    "parabola": (_plan(names=("a", "b", "c", "d"), drift="curved", blocks=4), {}),
    "wandering": (_plan(drift="wandering", wander_db_per_sqrt_hour=0.5), {}),
    "specimens": (_plan(TWO_EACH, blocks=4), {}),
    "specimens of some": (_plan(MIXED, blocks=4), {}),
    "missing swaps": (_plan(blocks=5), {"missing_share": 0.1}),
    "specimens and missing swaps": (_plan(TWO_EACH, blocks=4), {"missing_share": 0.1}),
    "best": (_plan(("a", "b", "c", "d"), question={"compare": "best"}), {}),
    "best of specimens, missing swaps": (_plan(TWO_EACH[:4], question={"compare": "best"}, blocks=5),
                                         {"missing_share": 0.1}),
    "coarse meter": (_plan(("a", "b"), meter={"step_db": 1.0}, rehang_sd_db=0.4), {}),
    "coarse meter, best": (_plan(("a", "b"), meter={"step_db": 1.0}, rehang_sd_db=0.4,
                                 question={"compare": "best"}), {}),
    "no gap that matters stated": (_plan(question={"matter_db": None}), {}),
}


@pytest.mark.parametrize("case", CASES)
def test_every_record_is_judged_as_judge_does(case, monkeypatch):
    """A sample of records, read as a readings file and judged alone: limits to 1e-5 dB, verdicts the same."""
    monkeypatch.setattr(rehearsal_chunk, "_READINGS_PER_CHUNK", 0)  # the smallest chunk
    monkeypatch.setattr(rehearsal_chunk, "RECORDS_PER_PATTERN", 5)
    plan, world = CASES[case]
    order = make_order(plan)
    gaps = {name: gap for name, gap in {"b": 1.0, "c": -0.5}.items() if name in plan.others}
    shared = _shared(plan, order, gaps, 5, None, world)
    assert shared.chunk_size == 5
    for record in (0, 6, 12):
        judged = judge_chunk(shared, record // 5, record % 5 + 1).judged
        readings = rehearsed_record(plan, order, gaps, record=record, seed=5, **world)
        try:
            # read and judged alone, as a user's file is
            family = judge(readings, plan).family.set_index(["candidate", "against"])
        except JudgementError:
            assert (judged.verdict[-1] == "cannot tell").all()
            continue
        for column, pair in enumerate(shared.pairs):
            if pair not in family.index:
                continue
            row = family.loc[pair]
            limits = [judged.lower_db[-1, column], judged.upper_db[-1, column]]
            assert judged.gap_db[-1, column] == pytest.approx(row["gap_db"], abs=1e-5, nan_ok=True)
            assert row["interval_db"] == pytest.approx(limits, abs=2e-5, rel=1e-4, nan_ok=True)
            assert judged.verdict[-1, column] == row["verdict"]


def test_records_that_the_judgement_refuses_cannot_be_told():
    plan = _plan(blocks=3)
    found = rehearse(plan, make_order(plan), records=200, missing_share=0.6)
    assert (found.table["cannot tell"] > 0.5).all()
    assert (found.table["no_interval"] > 0).all()


@pytest.mark.parametrize("field", [{}, {"blocks": 6, "minutes_per_swap": 4}, {"drift": "none", "drift_db_per_hour": 0}])
def test_agrees_with_the_closed_form(field):
    """12,000 records: chances and settled within 2 points (method section 8), and within 4 standard errors here."""
    plan = _plan(("a", "b", "c", "d"), meter={"step_db": 0.1}, **field)
    order = make_order(plan)
    models = scoped_models(order.table, "a", plan.field.drift, "reference")
    form = closed_form(planned_gaps(order.table, models, spreads_of(plan)), compare="reference", matter_db=1.0,
                       confidence=0.95, chance=0.8)
    gaps = form.gaps.set_index("candidate")
    at_matter = rehearse(plan, order, {name: 1.0 for name in "bcd"}, records=12_000)
    for row in at_matter.table.itertuples():
        assert row.noticed == pytest.approx(gaps.loc[row.candidate, "chance"], abs=4 * row.noticed_se + 1e-3)
    assert at_matter.all_noticed == pytest.approx(form.chance_all, abs=4 * at_matter.all_noticed_se + 2e-3)
    equal = rehearse(plan, order, records=12_000, seed=2)
    settled = equal.table.set_index("candidate")["no gap that matters"]
    assert settled.to_numpy() == pytest.approx(gaps.loc[settled.index, "chance_settled_if_equal"].to_numpy(), abs=0.015)
    assert equal.any_missed == pytest.approx(0.05, abs=4 * equal.any_missed_se)


@pytest.mark.parametrize("specimen_sd_db", [0.0, 0.1, 0.5])
def test_agrees_with_the_closed_form_for_any_specimen(specimen_sd_db):
    """Specimens are found at zero in none to half of the records; 6,000 of them: within 2 points and 3 errors."""
    plan = _plan(TWO_EACH, blocks=6, specimen_sd_db=specimen_sd_db)
    order = make_order(plan)
    models = scoped_models(order.table, "a", "steady", "reference")
    form = closed_form(planned_gaps(order.table, models, spreads_of(plan)), compare="reference", matter_db=1.0,
                       confidence=0.95, chance=0.8)
    found = rehearse(plan, order, {name: 1.0 for name in "bcde"}, records=6_000)
    assert set(found.table["scope"]) == {"any specimen"}
    noticed = found.table.set_index("candidate")["noticed"]
    expected = form.gaps.set_index("candidate")["chance"]
    for name in "bcde":
        assert noticed[name] == pytest.approx(expected[name], abs=0.02 + 3 * 0.0065)
    assert found.all_noticed == pytest.approx(form.chance_all, abs=0.03 + 3 * found.all_noticed_se)


def test_shares_add_up_and_errors_are_those_of_a_share():
    plan = _plan()
    found = rehearse(plan, make_order(plan), {"b": 1.0}, records=3_000)
    assert found.table[list(VERDICTS)].sum(axis=1).to_numpy() == pytest.approx(np.ones(2))
    share = found.table["noticed"][found.table["candidate"] == "b"].item()
    error = found.table["noticed_se"][found.table["candidate"] == "b"].item()
    assert error == pytest.approx(np.sqrt(share * (1 - share) / 3_000), rel=1e-3)
    assert (found.table.loc[found.table["candidate"] == "c", "noticed"] == 0).all()  # a gap of 0 is never noticed


def test_the_answer_does_not_depend_on_the_workers(monkeypatch):
    monkeypatch.setattr(rehearsal_chunk, "_READINGS_PER_CHUNK", 9_000)  # several chunks of few records
    plan = _plan()
    order = make_order(plan)
    alone = rehearse(plan, order, {"b": 1.0}, records=1_130, seed=4)
    shares = []
    with ThreadPoolExecutor(3) as executor:
        together = rehearse(plan, order, {"b": 1.0}, records=1_130, seed=4, executor=executor,
                            progress=lambda share, what: shares.append(share))
    pd.testing.assert_frame_equal(alone.table, together.table, check_exact=True)
    assert alone.any_missed == together.any_missed
    assert len(shares) == 5 and shares == sorted(shares) and shares[-1] == 1.0
    other = rehearse(plan, order, {"b": 1.0}, records=1_130, seed=5)
    assert not alone.table.equals(other.table)


def test_missing_swaps_make_the_monte_carlo_error_honest():
    """Records that share missing swaps are no independent draws: the error over 12 seeds is as large as stated."""
    plan = _plan(blocks=6, meter={"step_db": 0.01})
    order = make_order(plan)
    found = [rehearse(plan, order, {"b": 0.8}, records=1_000, seed=seed, missing_share=0.35).table
             for seed in range(12)]
    shares = np.array([table["noticed"].iloc[list(table["candidate"]).index("b")] for table in found])
    stated = np.mean([table["noticed_se"].iloc[list(table["candidate"]).index("b")] for table in found])
    # a standard deviation over 12 is known to about a quarter of itself (χ² with 11 degrees of freedom)
    assert 0.45 * stated < shares.std(ddof=1) < 1.7 * stated
    assert stated > 1.5 * np.sqrt(shares.mean() * (1 - shares.mean()) / 1_000)


def test_wander_is_rehearsed():
    plan = _plan(wander_db_per_sqrt_hour=2.0)
    still = rehearse(_plan(), make_order(_plan()), {"b": 1.0}, records=2_000)
    moving = rehearse(plan, make_order(plan), {"b": 1.0}, records=2_000)
    assert moving.table["half_width_db"].max() > 1.3 * still.table["half_width_db"].max()


def test_bad_questions_are_refused():
    plan = _plan()
    order = make_order(plan)
    with pytest.raises(RepeatsError, match="records is not a number of records: got 0"):
        rehearse(plan, order, records=0)
    with pytest.raises(RepeatsError, match="gaps_db names an unknown candidate"):
        rehearse(plan, order, {"x": 1.0})
    with pytest.raises(RepeatsError, match="the order leaves no swap to judge the scatter by"):
        rehearse(plan, order.table[order.table["block"] == "1"])
