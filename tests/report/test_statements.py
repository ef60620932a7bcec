"""What may be said: true sentences, each beside the one that may not be said, with the scope next to every answer."""

import re
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from antexp.analysis.judge import judge
from antexp.analysis.results_file import read_results
from antexp.plan.expected_loss import LossCurves
from antexp.plan.reader import plan_from_dict
from antexp.report.paragraphs import bands_sentence, methods, newsletter
from antexp.report.say_files import club_page, slide, write_said
from antexp.report.scope import scope_sentence
from antexp.report.statements import leading, statements

NAMES = ["bare", "clad & <i>", "strand", "steel"]
LEVEL = dict(zip(NAMES, (0.0, 0.05, -0.6, -3.0), strict=True))


def record(seed=8, scatter_db=0.12):
    random = np.random.default_rng(seed)
    rows, swap = [], 0
    for block in range(6):
        for position, name in enumerate([NAMES[0], *random.permutation(NAMES[1:]), NAMES[0]]):
            swap += 1
            level = -50 + LEVEL[str(name)] + random.normal(0, scatter_db)
            rows.append((swap, block, name, 7.0 * position, level))
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


PLAN = plan_from_dict({
    "candidates": [{"name": name, "material": "copper" if name != "steel" else "steel", "diameter_mm": 1.5}
                   for name in NAMES],
    "frequency_mhz": 14.2, "matter_db": 1, "radio": {"height_m": 8, "receive_height_m": 5}})


@pytest.fixture(scope="module")
def judgement():
    return judge(record(), matter_db=1.0)


@pytest.mark.parametrize("compare", ["reference", "each-other", "best"])
@pytest.mark.parametrize("scatter_db", [0.12, 1.5])
def test_every_pair_has_both_sides_and_every_candidate_is_spoken_of(compare, scatter_db):
    found = judge(record(scatter_db=scatter_db), matter_db=1.0, compare=compare)
    said = statements(found, PLAN)
    assert all(each.may.endswith(".") and each.may_not.endswith(".") and each.why for each in said)
    for name in NAMES:
        assert any(f"“{name}”" in each.may for each in said), name
    assert said[-1].may == "This holds for 14.2 MHz, 8 m high, this place and these specimens only."


def test_words_follow_the_verdicts(judgement):
    said = {each.may: each.may_not for each in statements(judgement)}
    steel = next(may for may in said if "steel" in may)
    number = r"\d\.\d\d"
    assert re.match(rf"“steel” was weaker than “bare” by 1 dB or more \({number} dB, between {number} and {number}\)",
                    steel)
    assert said[steel].startswith("“steel” costs you")
    strand = next(may for may in said if "“strand” was weaker" in may)
    assert "by less than 1 dB" in strand and "decides what to buy" in said[strand]
    equal = next(may for may in said if "clad" in may and "was under 1 dB" in may)
    assert "are equal" in said[equal]
    best = next(may for may in said if "strongest" in may)
    assert said[best] == f"“{leading(judgement)}” is the best."


def test_the_one_that_came_out_on_top_is_the_one_nobody_may_call_the_best():
    for compare in ("reference", "each-other", "best"):
        found = judge(record(), compare=compare, matter_db=1.0)
        gaps = judge(record(), compare="reference").family.set_index("candidate")["gap_db"]
        top = gaps.idxmax() if gaps.max() > 0 else "bare"
        assert leading(found) == top


def test_without_a_gap_that_matters_nothing_is_said_to_matter():
    said = statements(judge(record()))
    assert not any("None" in each.may or "or more" in each.may for each in said)
    assert any("stays open" in each.may for each in said)


def test_the_scope_follows_specimens_and_the_end_that_swaps(judgement):
    wide = judgement.family.assign(scope="any specimen")
    assert "wire like these specimens" in scope_sentence(wide)
    mixed = wide.assign(scope=["any specimen", "these specimens", "any specimen"])
    assert "and these specimens only" in scope_sentence(mixed)
    receiver = PLAN.model_copy(update={"radio": PLAN.radio.model_copy(update={"swap_end": "receiver"})})
    assert "5 m high" in scope_sentence(wide, receiver)
    assert scope_sentence(wide).startswith("This holds for this band, this height")


def test_the_newsletter_is_short_and_quotes_the_forbidden_sentence(judgement):
    text = newsletter(judgement, PLAN)
    assert len(text.split()) < 170
    assert "Please do not quote us with" in text and "is the best" in text and "14.2 MHz" in text


def test_the_methods_paragraph_has_what_a_reviewer_asks_for(judgement):
    text = methods(judgement, PLAN)
    for words in ("30 swaps in 6 blocks", "experimental unit", "Kenward–Roger", "95 %", judgement.provenance["antexp"],
                  judgement.provenance["readings_sha256"], "doi:10.2307/2533558", "specimens used",
                  "stated in the plan"):
        assert words in text, words
    assert "stated in the plan" not in methods(judge(record(), matter_db=0.5), PLAN)
    assert "Hsu" in methods(judge(record(), compare="best"))


def test_bands_are_called_calculated():
    curves = LossCurves(("a", "b"), np.array([1.8, 30.0]), *(np.array([[0.1, 0.5], [0.1, 0.2]]),) * 3)
    text = bands_sentence(curves, 14.2)
    assert "Measured on 14.2 MHz only" in text and "0.40 dB apart at 1.8 MHz and 0.10 dB at 30 MHz" in text
    assert bands_sentence(LossCurves((), np.array([1.8]), *(np.empty((1, 0)),) * 3), None) == ""


def test_pages_from_the_results_file_alone(judgement, tmp_path):
    (tmp_path / "results.json").write_text(judgement.to_json(), encoding="utf-8")
    again = read_results(tmp_path)
    assert statements(again, PLAN) == statements(judgement, PLAN)
    html = club_page(again, PLAN)
    assert "clad &amp; &lt;i&gt;" in html and "<i>" not in html
    assert "calculated there" in html  # the strip over the bands
    assert html.count("14.2 MHz, 8 m high") >= 3  # next to the answer, the picture and in the table
    assert not re.search(r'(?:src|href)="(?!#)', html)
    assert "calculated there" not in club_page(again)


def test_the_slide_holds_two_pairs_and_the_scope(judgement):
    html = slide(judgement, PLAN)
    assert html.count('class="may"') == 2 and html.count('class="may-not"') == 2
    assert "these specimens only" in html


def test_files_are_written_together(judgement, tmp_path):
    written = write_said(judgement, tmp_path / "said", PLAN)
    assert {path.name for path in written} == {"club-page.html", "slide.html", "newsletter.txt", "methods.txt"}


def test_a_slide_of_many_gaps_draws_the_largest_and_says_how_many(judgement):
    row = judgement.family.iloc[0]
    many = pd.DataFrame([{**row, "candidate": f"wire {place}", "gap_db": -0.1 * place} for place in range(30)])
    page = slide(replace(judgement, gaps=many), PLAN)
    assert "The picture shows the 10 largest of 30 gaps." in page
    assert "wire 29" in page.split("<svg")[1] and "wire 7<" not in page.split("<svg")[1]
    assert "largest of" not in slide(judgement, PLAN)
