"""What makes the limits less sure stands beside how sure they are, with the wire it is about."""

from dataclasses import replace

import numpy as np
import pytest

from antexp import judge, read_results
from antexp.analysis.result import Opinion
from antexp.demo.run import run_demo
from antexp.notices import Notice
from antexp.report.less_sure import in_doubt, less_sure
from antexp.report.next_steps import next_steps
from antexp.report.page import report_page
from antexp.report.tables import gap_table, statistician_table


@pytest.fixture(scope="module")
def wild():
    """Return a day on which "clad" scatters four times as much as the others."""
    import pandas as pd

    random = np.random.default_rng(3)
    names, rows = ["ref", "bare", "clad", "strand"], []
    for block in range(1, 7):
        for place, name in enumerate(["ref", *random.permutation(names[1:]), "ref"]):
            level = random.normal(-50.0, 0.8 if name == "clad" else 0.2)
            swap = len(rows) // 2 + 1
            rows += [(swap, block, 6.0 * place + turn, name, level + random.normal(0, 0.05)) for turn in range(2)]
    return pd.DataFrame(rows, columns=["swap", "block", "minutes", "candidate", "level_db"])


@pytest.fixture(scope="module")
def doubtful(wild):
    return judge(wild, reference="ref", matter_db=1.0)


def test_the_wire_is_named_beside_how_sure_and_marked_in_the_table(doubtful):
    assert "“clad” scatters more than the others" in less_sure(doubtful)
    assert less_sure(doubtful) in report_page(doubtful)
    verdicts = gap_table(doubtful).set_index("candidate")["verdict"]
    assert verdicts["clad"].endswith(" (less sure)")
    assert not verdicts.drop("clad").str.contains("less sure").any()
    assert any("see why “clad” scatters more" in step for step in next_steps(doubtful))


def test_a_results_file_still_knows_the_wire(doubtful, tmp_path):
    (tmp_path / "results.json").write_text(doubtful.to_json(), encoding="utf-8")
    again = read_results(tmp_path / "results.json")
    assert less_sure(again) == less_sure(doubtful) and list(in_doubt(again)) == list(in_doubt(doubtful))
    assert again.warnings == doubtful.warnings


def test_a_warning_that_names_nobody_is_said_without_a_name(record):
    found = judge(record(["bare", "clad", "strand"]), matter_db=1.0)
    assert not found.warnings or "Less sure than that" not in report_page(found)
    plain = replace(found, checks=(), warnings=(Notice("unequal-scatter", "“clad” scatters more."),
                                                Notice("odd-swap", "Swap 3 lies far off.")))
    said = ("Less sure than that, by the notes below: one wire scatters more than the others and one swap is unlike "
            "the others.")
    assert less_sure(plain) == said and said in report_page(plain)


def test_a_second_opinion_that_differs_is_pointed_to(record):
    found = judge(record(["bare", "clad", "strand"]), matter_db=1.0)
    calm = replace(found, checks=(), warnings=(), second_opinions=(Opinion("one way", True, "the same"),
                                                                   Opinion("third way", None, "not made")))
    assert less_sure(calm) == ""
    torn = replace(calm, second_opinions=(*calm.second_opinions, Opinion("another way", False, "not the same")))
    assert less_sure(torn) == "Of the second opinions this differs: another way; the statistician's part says how."


def test_a_verdict_that_rests_on_equal_scatter_is_marked_and_an_open_one_is_not(record):
    found = judge(record(["bare", "clad", "strand", "thin"]), matter_db=1.0)
    gaps = found.gaps.assign(verdict=["no gap that matters", "cannot tell", "real and it matters"])
    rests = Notice("rests-on-equal-scatter", "words", ((gaps["candidate"].iloc[0], gaps["against"].iloc[0]),
                                                       (gaps["candidate"].iloc[1], gaps["against"].iloc[1])))
    marked = in_doubt(replace(found, gaps=gaps, checks=(), warnings=(rests,)))
    assert list(marked) == [True, False, False]


def test_between_pairs_the_mismatched_wire_is_named_and_gaps_are_named_whole(tmp_path):
    """The demonstration's covered wire is the one off its resonance, its reference is matched."""
    shown = run_demo(tmp_path / "day")
    found = judge(tmp_path / "day" / "readings.csv", tmp_path / "day" / "plan.toml", compare="each-other")
    first = next(step for step in next_steps(found) if step.startswith("First"))
    assert "match “covered copper, cut to the bare length”, where mismatch decides" in first
    assert "match “enamelled copper, 1.0 mm”" not in first
    assert "what physics does not explain of “" in first and "” against “" in first
    of_reference = next(step for step in next_steps(shown.judgement) if step.startswith("First"))
    assert "explain of “tinned copper with a poor crimp, 1.0 mm” (" in of_reference


def test_both_tables_of_gaps_have_their_rows_in_one_order(doubtful):
    assert list(statistician_table(doubtful)["candidate"]) == list(gap_table(doubtful)["candidate"])
