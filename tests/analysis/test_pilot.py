"""The pilot: go or mend, and spreads with their limits, from forms filled in with a known truth."""

import json
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from antexp.analysis.pilot import judge_pilot
from antexp.design.pilot_order import pilot_form, pilot_order, write_pilot
from antexp.errors import JudgementError, OrderError
from antexp.plan.reader import plan_from_dict
from antexp.report.pilot_text import pilot_answer, pilot_sentences

PLAN = plan_from_dict({"candidates": ["reference wire", "other"], "field": {"blocks": 4}})


def filled(seed=3, hang=0.4, read=0.2, slope=0.6, leak=45.0, meter=10.0, hand=0.0, hangings=6):
    """Fill in a pilot's form with a known truth."""
    rng = np.random.default_rng(seed)
    order = pilot_order(PLAN, hangings)
    form = pilot_form(order).assign(candidate=order.reference)
    hung = rng.normal(0, hang, hangings)
    level = -50 + slope * form["minutes"].astype(float) / 60 + hung[form["swap"] - 1] + rng.normal(0, read, len(form))
    change = {"dummy load": -leak, "attenuator in": -meter, "hand on": hand}
    form["level_db"] = (level + form["step"].map(change).fillna(0.0)).round(2)
    form["attenuator_db"] = np.where(form["step"] == "attenuator in", 10.0, np.nan)
    return form


def status(pilot):
    return {check.name: check.status for check in pilot.checks}


def test_a_sound_set_up_goes():
    pilot = judge_pilot(filled(), PLAN)
    assert pilot.verdict == "go" and set(status(pilot).values()) == {"passed"}
    assert pilot_answer(pilot) == "Go: the set-up passed every check."
    assert pilot.hangings == 6 and pilot.readings == 18


@pytest.mark.parametrize(("wrong", "check", "word"), [({"leak": 18.0}, "leakage", "past the antenna"),
                                                      ({"meter": 8.0}, "meter", "0.8"),
                                                      ({"hand": 1.2}, "hand", "choke")])
def test_what_is_wrong_is_named(wrong, check, word):
    pilot = judge_pilot(filled(**wrong), PLAN)
    assert pilot.verdict == "mend"
    assert {name for name, found in status(pilot).items() if found == "mend"} == {check}
    assert word in next(found.do for found in pilot.checks if found.name == check)
    assert pilot_answer(pilot).startswith("Mend first: ")


def test_re_hangings_alone_are_a_pilot_too():
    form = filled()
    form = form[form["step"] == "hang"].drop(columns="step")
    pilot = judge_pilot(form, PLAN)
    assert pilot.verdict == "go, not all tested" and set(status(pilot).values()) == {"not done"}
    assert pilot.still is None and pilot.reading is not None


def test_balanced_hangings_equal_the_analysis_of_variance():
    """Mean squares by hand: swap means about their line, readings about their swap."""
    form = filled()
    hang = form[form["step"] == "hang"]
    means = hang.groupby("swap")["level_db"].mean().to_numpy()
    minutes = hang.groupby("swap")["minutes"].mean().to_numpy(float)
    between = np.sum((means - np.polyval(np.polyfit(minutes, means, 1), minutes)) ** 2) / 4
    within = hang.groupby("swap")["level_db"].var().mean()
    pilot = judge_pilot(form, PLAN)
    assert pilot.rehang.sd_db == pytest.approx(np.sqrt(between - within / 3), rel=1e-9)
    assert pilot.reading.sd_db == pytest.approx(np.sqrt(within), rel=1e-9)
    assert (pilot.rehang.degrees_of_freedom, pilot.reading.degrees_of_freedom) == (4, 12)
    slope = np.polyfit(minutes / 60, means, 1)[0]
    assert pilot.drift.db_per_hour == pytest.approx(slope, rel=1e-9)


def assert_line(slope, fitted, left):
    """A slope and its t limits against scipy.stats.linregress, a general library."""
    half = stats.t.ppf(0.975, left) * fitted.stderr
    assert slope.db_per_hour == pytest.approx(fitted.slope, rel=1e-9)
    assert (slope.low_db_per_hour, slope.high_db_per_hour) == pytest.approx(
        (fitted.slope - half, fitted.slope + half), rel=1e-9
    )
    assert slope.degrees_of_freedom == left


def test_drifts_are_regression_lines():
    form = filled()
    pilot = judge_pilot(form, PLAN)
    means = form[form["step"] == "hang"].groupby("swap")[["minutes", "level_db"]].mean()
    assert_line(pilot.drift, stats.linregress(means["minutes"] / 60, means["level_db"]), 4)
    still = form[form["step"] == "still"]
    hours = still["minutes"].astype(float) / 60
    line, left = stats.linregress(hours, still["level_db"]), len(still) - 2
    assert_line(pilot.still_drift, line, left)
    rest = still["level_db"] - line.intercept - line.slope * hours
    assert pilot.still.sd_db == pytest.approx(np.sqrt((rest**2).sum() / left), rel=1e-9)
    assert pilot.still.degrees_of_freedom == left


def test_a_drift_is_pasted_with_the_farther_of_its_limits():
    for slope, end in ((5.0, "high_db_per_hour"), (-5.0, "low_db_per_hour")):
        pilot = judge_pilot(filled(slope=slope), PLAN)
        far, size = abs(getattr(pilot.drift, end)), abs(pilot.drift.db_per_hour)
        line = next(line for line in pilot.for_the_plan.splitlines() if line.startswith("drift_db_per_hour"))
        assert line.startswith(f"drift_db_per_hour = {np.ceil(size * 100) / 100:.2f} ")
        assert line.endswith(f"up to {np.ceil(far * 100) / 100:.2f}")


def test_unequal_numbers_of_readings_count_by_their_harmonic_mean():
    """Thomas & Hultquist (1978), by hand: two hangings of one reading, four of three."""
    form = filled()
    form = form[~((form["swap"] <= 2) & (form["step"] == "hang") & form.duplicated(["step", "swap"]))]
    hang = form[form["step"] == "hang"]
    means = hang.groupby("swap")[["minutes", "level_db"]].mean()
    line = stats.linregress(means["minutes"], means["level_db"])
    between = ((means["level_db"] - line.intercept - line.slope * means["minutes"]) ** 2).sum() / 4
    within = hang.groupby("swap")["level_db"].var().mean()  # of the four that have three
    harmonic = 6 / (2 / 1 + 4 / 3)
    pilot = judge_pilot(form, PLAN)
    assert pilot.rehang.sd_db == pytest.approx(np.sqrt(between - within / harmonic), rel=1e-9)
    assert pilot.readings == 14


def test_while_standing_still_the_path_wanders_once_chance_is_not_enough():
    """The F test at 2.5 per cent by scipy, a general library: readings a hair above and below it."""
    form = filled()
    still = form["step"] == "still"
    plain = judge_pilot(form, PLAN)
    f = stats.f.isf(0.025, plain.still.degrees_of_freedom, plain.reading.degrees_of_freedom)
    for beyond, said in ((1.01, True), (0.99, False)):
        scaled = form.copy()
        stretch = np.sqrt(f) * plain.reading.sd_db / plain.still.sd_db * beyond
        scaled.loc[still, "level_db"] = -50 + (form.loc[still, "level_db"] + 50) * stretch
        assert ("the path wanders" in " ".join(judge_pilot(scaled, PLAN).remarks)) is said


def test_few_readings_or_few_moments_make_no_line_while_standing_still():
    form = filled()
    still = form["step"] == "still"
    four = form[~still | (still.cumsum() <= 4)]
    assert judge_pilot(four, PLAN).still is None
    five = form[~still | (still.cumsum() <= 5)]
    assert judge_pilot(five, PLAN).still.degrees_of_freedom == 3


def test_three_hangings_are_one_more_than_a_line_needs():
    form = filled()
    assert judge_pilot(form[(form["step"] != "hang") | (form["swap"] <= 3)], PLAN).rehang.degrees_of_freedom == 1


def hangings_alone(levels, block=1):
    """Readings of re-hangings, seven minutes apart, from lists of levels a swap."""
    rows = [(swap, block, 7.0 * swap + 0.2 * i, level) for swap, inside in enumerate(levels, 1)
            for i, level in enumerate(inside)]
    table = pd.DataFrame(rows, columns=["swap", "block", "minutes", "level_db"])
    return table.assign(candidate="reference wire")


def test_one_swap_read_twice_tells_one_degree_of_freedom_of_readings():
    pilot = judge_pilot(hangings_alone([[-50.0, -50.2], [-50.4], [-49.7], [-50.1]]), PLAN)
    assert pilot.reading.degrees_of_freedom == 1
    assert pilot.reading.sd_db == pytest.approx(0.2 / np.sqrt(2))


def test_a_drift_is_told_from_one_stretch_and_from_no_other():
    levels = [[-50.0, -50.2], [-50.4, -50.3], [-49.7, -49.9], [-50.1, -50.0], [-50.3, -50.2], [-49.8, -49.9]]
    one = hangings_alone(levels)
    assert judge_pilot(one, PLAN).drift is not None
    two = one.assign(block=np.where(one["swap"] > 3, 2, 1))
    assert judge_pilot(two, PLAN).drift is None
    still = plan_from_dict({"candidates": ["reference wire", "other"], "field": {"blocks": 4, "drift": "none"}})
    assert judge_pilot(one, still).drift is None


def test_hangings_that_scatter_no_more_than_readings_are_said_to_and_others_not():
    words = "The hangings scatter no more than the readings do"
    quiet = judge_pilot(hangings_alone([[-50.0, -50.4], [-50.4, -50.01], [-50.0, -50.41], [-50.4, -50.0]]), PLAN)
    assert quiet.rehang.sd_db == 0.0 and words in " ".join(quiet.remarks)
    assert words not in " ".join(judge_pilot(filled(), PLAN).remarks)


def test_readings_that_never_differ_in_a_row_leave_all_that_moves_to_the_path():
    form = filled()
    hang = form["step"] == "hang"
    form.loc[hang, "level_db"] = form[hang].groupby("swap")["level_db"].transform("first").round()
    pilot = judge_pilot(form, PLAN)
    assert pilot.reading.sd_db == 0.0 and "the path wanders" in " ".join(pilot.remarks)


def test_limits_cover_the_truth():
    """95 % limits of three quantities over 150 pilots: three standard errors are 5.3 points."""
    hits = np.zeros(3)
    for seed in range(150):
        pilot = judge_pilot(filled(seed), PLAN)
        hits += [pilot.rehang.low_db <= 0.4 <= pilot.rehang.high_db,
                 pilot.reading.low_db <= 0.2 <= pilot.reading.high_db,
                 pilot.drift.low_db_per_hour <= 0.6 <= pilot.drift.high_db_per_hour]
    assert (np.abs(hits / 150 - 0.95) < 0.054).all()


def test_lines_to_paste_are_a_plan():
    import tomllib

    lines = tomllib.loads(judge_pilot(filled(), PLAN).for_the_plan)
    pilot = judge_pilot(filled(), PLAN)
    assert lines["field"]["rehang_sd_db"] == pytest.approx(pilot.rehang.sd_db, abs=0.01)
    assert lines["meter"]["reading_sd_db"] >= pilot.reading.sd_db
    plan_from_dict({"candidates": ["a", "b"], **lines, "field": {**lines["field"], "blocks": 3}})


def test_more_scatter_than_planned_is_said():
    said = " ".join(pilot_sentences(judge_pilot(filled(hang=3.0), PLAN)))
    assert "Hangings scatter more than the 0.35 dB of the plan" in said


def test_a_path_that_wanders_while_standing_still_is_said():
    form = filled(read=0.05)
    still = form["step"] == "still"
    form.loc[still, "level_db"] += np.random.default_rng(1).normal(0, 0.5, int(still.sum()))
    assert "the path wanders" in " ".join(judge_pilot(form, PLAN).remarks)


@pytest.mark.parametrize(("change", "text"), [
    (lambda f: f.assign(step="hum"), "a step is not known"),
    (lambda f: f.assign(candidate=["other" if s > 3 else "reference wire" for s in f["swap"]]), "one antenna only"),
    (lambda f: f[f["swap"] < 3], "too few hangings to show a scatter: got 2")])
def test_what_is_no_pilot_is_refused(change, text):
    with pytest.raises(JudgementError, match=text):
        judge_pilot(change(filled()), PLAN)


def test_a_pilot_of_two_hangings_is_not_laid_out():
    with pytest.raises(OrderError, match="a pilot needs more hangings"):
        pilot_order(PLAN, 2)


def test_the_document_is_plain_json(tmp_path):
    document = json.loads(json.dumps(judge_pilot(filled(), PLAN).to_dict(), allow_nan=False))
    assert document["verdict"] == "go" and document["rehang_sd_db"]["low_db"] < document["rehang_sd_db"]["sd_db"]


def test_the_form_on_disk_can_be_filled_in_and_judged(tmp_path):
    order = pilot_order(PLAN)
    *_, form = write_pilot(order, tmp_path / "pilot.csv")
    assert form.name == "pilot.form.csv" and (tmp_path / "pilot.reading-end.csv").exists()
    filled().to_csv(form, index=False)
    assert judge_pilot(form, PLAN).verdict == "go"


def test_what_was_not_seen_is_not_pasted():
    pilot = judge_pilot(filled(), PLAN)
    assert "drift_db_per_hour" in pilot.for_the_plan and "reading_sd_db" in pilot.for_the_plan
    bare = replace(pilot, drift=None, reading=None).for_the_plan
    assert bare.startswith("[field]\nrehang_sd_db = ") and "drift" not in bare and "[meter]" not in bare


def test_one_reading_a_hanging_leaves_one_number():
    form = filled()
    pilot = judge_pilot(form[form["step"] == "hang"].drop_duplicates("swap"), PLAN)
    assert pilot.reading is None
    assert any("re-hanging scatter and reading scatter are one number here" in text for text in pilot.remarks)
