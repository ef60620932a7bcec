"""Two days side by side, against Welch's test and against known changes."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from antexp.analysis.compare_days import AGREES, CHANGED, MOVED_LITTLE, OPEN, compare_days
from antexp.analysis.judge import judge
from antexp.analysis.result import Judgement
from antexp.analysis.results_file import read_results
from antexp.errors import JudgementError

NAMES = ("bare", "clad", "steel")


def day(seed, names=NAMES, levels=None, scatter_db=0.25, blocks=5, **asked) -> Judgement:
    """Judge an invented day."""
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(blocks):
        for position, name in enumerate([names[0], *random.permutation(names[1:]), names[0]]):
            swap += 1
            level = -50 + (levels or {}).get(str(name), 0.0) + random.normal(0, scatter_db)
            rows.append((swap, block, name, 7.0 * position, level))
    table = pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])
    return judge(table, **{"reference": names[0], "matter_db": 1.0, **asked})


def one_gap(gap_db, se_db, df, title):
    """Return a judgement whose only gap has a given standard error and degrees of freedom."""
    made = day(1, names=("bare", "clad"))
    gaps = made.gaps.assign(gap_db=gap_db, standard_error_db=se_db, degrees_of_freedom=df)
    return replace(made, gaps=gaps, gaps_covariance_db2=np.array([[se_db**2]]), title=title,
                   provenance={"readings_sha256": title})


def test_one_gap_is_welchs_test():
    # scipy.stats.ttest_ind_from_stats with unequal variances, on means, deviations and counts behind these gaps
    n1, n2, sd1, sd2 = 9, 14, 0.6, 0.35
    reference = stats.ttest_ind_from_stats(-0.9, sd2, n2, -0.3, sd1, n1, equal_var=False)
    found = compare_days(one_gap(-0.3, sd1 / n1**0.5, n1 - 1, "a"), one_gap(-0.9, sd2 / n2**0.5, n2 - 1, "b"))
    row = found.table.iloc[0]
    assert row["p_value"] == pytest.approx(reference.pvalue, rel=1e-9)
    assert row["p_adjusted"] == pytest.approx(reference.pvalue, rel=1e-6)  # a family of one
    v1, v2 = sd1**2 / n1, sd2**2 / n2
    df = (v1 + v2) ** 2 / (v1**2 / (n1 - 1) + v2**2 / (n2 - 1))
    assert row["degrees_of_freedom"] == pytest.approx(df)
    half = stats.t.ppf(0.975, df) * (v1 + v2) ** 0.5
    assert (row["low_db"], row["high_db"]) == pytest.approx((-0.6 - half, -0.6 + half), rel=1e-6)


def test_days_that_are_alike_agree_and_one_that_rusted_does_not():
    before, after = day(1, levels={"steel": -1.0}), day(2, levels={"steel": -3.5})
    table = compare_days(before, after).table.set_index("candidate")
    assert table.loc["clad", "agreement"] == AGREES
    assert table.loc["steel", "agreement"] == CHANGED
    assert table.loc["steel", "change_db"] == pytest.approx(-2.5, abs=0.8)
    assert compare_days(before, after).p_together < 0.01


@pytest.mark.parametrize(
    ("change", "matter_db", "agreement"),
    [(-0.5, 1.0, MOVED_LITTLE), (-0.5, 0.3, CHANGED), (-0.02, 1.0, AGREES), (-0.02, 0.05, OPEN), (-0.5, None, CHANGED)],
)
def test_what_a_change_of_known_error_is_called(change, matter_db, agreement):
    """Errors of 0.05 dB on each day, many degrees of freedom: limits 0.14 dB to each side."""
    earlier, later = (one_gap(gap, 0.05, 500.0, name) for gap, name in ((-1.0, "a"), (-1.0 + change, "b")))
    bare = [replace(each, matter_db=matter_db) for each in (earlier, later)]
    row = compare_days(*bare).table.iloc[0]
    assert row["agreement"] == agreement
    assert row["high_db"] - row["low_db"] == pytest.approx(2 * 1.962 * 0.05 * 2**0.5, rel=2e-3)  # t of 1000 df


def test_what_was_asked_of_the_comparison_comes_first_then_the_later_day():
    earlier, later = day(1, matter_db=0.5, confidence=0.9), day(2, matter_db=0.7, confidence=0.8)
    plain = compare_days(earlier, later)
    assert (plain.matter_db, plain.confidence) == (0.7, 0.8)
    asked = compare_days(earlier, later, matter_db=100, confidence=0.95)
    assert (asked.matter_db, asked.confidence) == (100, 0.95)
    assert compare_days(earlier, later, matter_db=0.4).matter_db == 0.4
    assert compare_days(earlier, replace(later, matter_db=None)).matter_db == 0.5


@pytest.mark.parametrize("asked", [{"matter_db": 0.0}, {"matter_db": 100.5}, {"confidence": 0.0}, {"confidence": 1.0}])
def test_questions_that_are_none_are_refused(asked):
    with pytest.raises(JudgementError, match="is not a"):
        compare_days(day(1), day(2), **asked)


def test_where_a_day_has_no_error_nothing_is_told_and_the_document_says_none():
    silent = compare_days(one_gap(-1.0, np.nan, 5.0, "a"), one_gap(-2.0, 0.1, 5.0, "b"))
    assert silent.table["agreement"].tolist() == [OPEN] and np.isnan(silent.p_together)
    document = silent.to_dict()
    assert document["p_together"] is None and document["changes"][0]["low_db"] is None
    assert document["changes"][0]["later_db"] == -2.0 and document["changes"][0]["candidate"] == "clad"


def test_p_together_is_the_smallest_adjusted_p():
    found = compare_days(day(1), day(2, levels={"steel": -0.5}))
    assert found.p_together == found.table["p_adjusted"].min() < found.table["p_adjusted"].max()
    assert found.to_dict()["p_together"] == found.p_together


def test_rough_days_cannot_tell():
    found = compare_days(day(1, scatter_db=2.0, blocks=3), day(2, scatter_db=2.0, blocks=3))
    assert set(found.table["agreement"]) == {OPEN}


def test_false_alarms_stay_at_the_stated_rate():
    # 40 pairs of days without any change; at 5 % more than 7 alarms come about once in a thousand
    alarms = sum(compare_days(day(2 * i, blocks=3), day(2 * i + 1, blocks=3)).p_together < 0.05 for i in range(40))
    assert alarms <= 7


@pytest.mark.parametrize("compare", ["reference", "each-other"])
def test_another_reference_or_family_gives_the_same_gaps(compare):
    levels = {"clad": -0.5, "steel": -2.0}
    before = day(1, levels=levels)
    after = day(2, levels=levels)
    other = day(2, levels=levels, reference="steel", compare=compare)
    plain = compare_days(before, after).table.set_index("candidate")
    turned = compare_days(before, other).table.set_index("candidate")
    for key in ("later_db", "later_se_db", "change_db"):
        np.testing.assert_allclose(turned[key], plain[key], rtol=1e-6)
    # a gap put together of two has the smaller of their degrees of freedom, so the limits may be wider, not narrower
    assert (turned["high_db"] - turned["low_db"] >= 0.99 * (plain["high_db"] - plain["low_db"])).all()


def test_a_reference_of_one_day_only_is_not_needed_on_the_other():
    before = day(1)
    after = day(2, names=("strand", "clad", "steel"))
    found = compare_days(before, after)
    assert found.against == "clad" and list(found.table["candidate"]) == ["steel"]
    assert (found.only_earlier, found.only_later) == (("bare",), ("strand",))


def test_from_the_results_files_alone(tmp_path):
    days = [day(1), day(2)]
    for number, each in enumerate(days):
        (tmp_path / str(number)).mkdir()
        (tmp_path / str(number) / "results.json").write_text(each.to_json(), encoding="utf-8")
    again = compare_days(read_results(tmp_path / "0"), read_results(tmp_path / "1"))
    pd.testing.assert_frame_equal(again.table, compare_days(*days).table)


def test_what_cannot_be_compared_is_refused_all_at_once():
    same = day(1)
    with pytest.raises(JudgementError, match="both judgements are of the same readings"):
        compare_days(same, same)
    with pytest.raises(JudgementError) as caught:
        compare_days(day(1, compare="best"), day(2, names=("a", "b")), matter_db=-1, confidence=95)
    assert len(caught.value.faults) == 4
    assert any("--compare reference" in str(fault) for fault in caught.value.faults)


def test_what_differs_in_the_asking_is_remarked_and_pairs_are_found_the_other_way_round():
    earlier = day(1, compare="each-other", confidence=0.9)
    later = day(2, drift="none")
    remarks = " ".join(compare_days(earlier, later).remarks)
    assert "judged at 0.9 and 0.95" in remarks and "drift steady and none" in remarks
    alike = " ".join(compare_days(day(1), day(2)).remarks)
    assert "judged at" not in alike and "with drift" not in alike


def test_specimens_that_may_have_changed_are_remarked_while_limits_know_nothing_of_them():
    both = [day(1), day(2)]
    assert any("how specimens differ" in text for text in compare_days(*both).remarks)
    told = [replace(each, gaps=each.gaps.assign(scope="any specimen")) for each in both]
    assert not any("how specimens differ" in text for text in compare_days(*told).remarks)
    assert any("how specimens differ" in text for text in compare_days(told[0], both[1]).remarks)
