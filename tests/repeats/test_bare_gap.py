"""A bare number judged with known spreads."""

import json
import math
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from antexp.errors import RepeatsError
from antexp.repeats.bare_gap import bare_gap

CHECKS = Path(__file__).parents[1] / "reference"


def test_repeatability_limit_is_that_of_iso_5725_6():
    """Outside reference: ISO 5725-6:1994, clause 4.1, r = 2.8 s; exact factor 1.96·√2 (case C12)."""
    check = json.loads((CHECKS / "C12_repeatability_limit.json").read_text())
    worked = check["worked"]
    found = bare_gap(1.0, rehang_sd_db=worked["sd_within"], reading_sd_db=0.0)
    assert found.repeatability_limit_db == pytest.approx(worked["limit_exact"], rel=1e-5)
    assert found.resolution_db == pytest.approx(found.repeatability_limit_db, rel=1e-12)  # at 95 %, hung once each


def test_worked_by_hand():
    """√(0.5² + 0.4²/4) = 0.5385; √2/√2 of it with two hangings each; 1.96 times that is 1.0555."""
    found = bare_gap(2.0, hangings=2, readings=4, rehang_sd_db=0.5, reading_sd_db=0.4)
    assert found.standard_error_db == pytest.approx(math.sqrt(0.29), rel=1e-12)
    assert found.resolution_db == pytest.approx(1.959963985 * math.sqrt(0.29), rel=1e-9)
    assert found.p_value == pytest.approx(2 * stats.norm.sf(2 / math.sqrt(0.29)), rel=1e-12)
    assert found.verdict == "real, may or may not matter"
    # 2·0.29·(1.959964 + 0.841621)²/2² = 1.138 and 2·0.29·1.959964²/4 = 0.557
    assert found.hangings_needed == 2
    assert found.hangings_to_resolve == 1


def test_hangings_needed_is_the_least_that_reaches_the_chance():
    for gap in (0.2, 0.5, 1.0, 1.7):
        found = bare_gap(gap, rehang_sd_db=0.5, reading_sd_db=0.3)
        s = math.sqrt(0.34)
        for n, enough in ((found.hangings_needed, True), (found.hangings_needed - 1, False)):
            chance = stats.norm.cdf(gap / (s * math.sqrt(2 / n)) - 1.959963985) if n else 0.0
            assert (chance >= 0.8) == enough


def test_p_value_is_the_share_of_equal_wires_that_differ_so_much():
    """Simulated: 200,000 pairs of equal wires, two hangings of three readings; 3 standard errors of a share."""
    random = np.random.default_rng(3)
    level = 0.5 * random.standard_normal((2, 2, 200_000)) + 0.4 / math.sqrt(3) * random.standard_normal((2, 2, 200_000))
    gaps = np.abs(level.mean(axis=1)[0] - level.mean(axis=1)[1])
    found = bare_gap(0.9, hangings=2, readings=3, rehang_sd_db=0.5, reading_sd_db=0.4)
    share = float(np.mean(gaps >= 0.9))
    assert found.p_value == pytest.approx(share, abs=3 * math.sqrt(share * (1 - share) / 200_000))


def test_the_scatter_that_makes_it_noise_does():
    found = bare_gap(2.0, readings=2, reading_sd_db=0.4, rehang_sd_db=0.3)
    edge = found.noise_above_rehang_sd_db
    assert bare_gap(2.0, readings=2, reading_sd_db=0.4, rehang_sd_db=0.999 * edge).p_value < 0.05
    assert bare_gap(2.0, readings=2, reading_sd_db=0.4, rehang_sd_db=1.001 * edge).p_value > 0.05
    assert bare_gap(0.3, reading_sd_db=0.4).noise_above_rehang_sd_db == 0.0


def test_mismatch_comes_first():
    """SWR 3 reflects a quarter of the power, 1.249 dB; SWR 1 none (textbook: Γ = (S − 1)/(S + 1))."""
    found = bare_gap(1.5, swr=(1.0, 3.0), rehang_sd_db=0.2, reading_sd_db=0.1)
    assert found.mismatch_gap_db == pytest.approx(-10 * math.log10(0.75), abs=1e-9)
    assert found.own_gap_db == pytest.approx(1.5 + 10 * math.log10(0.75))
    assert found.verdict == "cannot tell"
    assert bare_gap(1.5, rehang_sd_db=0.2, reading_sd_db=0.1).verdict == "real, may or may not matter"


def test_rounding_averages_out_only_when_the_readings_scatter():
    """Variance q²/12 of a step q (Sheppard): over the readings when they scatter by q/2, else over the hanging."""
    fine = bare_gap(1, readings=4, rehang_sd_db=0, reading_sd_db=0.5, step_db=1.0)
    coarse = bare_gap(1, readings=4, rehang_sd_db=0, reading_sd_db=0.49, step_db=1.0)
    assert fine.standard_error_db == pytest.approx(math.sqrt(2 * (0.25 / 4 + 1 / 48)))
    assert coarse.standard_error_db == pytest.approx(math.sqrt(2 * (0.49**2 / 4 + 1 / 12)))


def test_with_a_gap_that_matters_all_verdicts_can_fall():
    spreads = {"rehang_sd_db": 0.1, "reading_sd_db": 0.0, "matter_db": 1.0}
    assert [bare_gap(gap, **spreads).verdict for gap in (2, 1, 0.5, 0.1)] == [
        "real and it matters", "real, may or may not matter", "real but too small to matter", "no gap that matters"]


def test_a_gap_of_nothing_needs_no_number():
    found = bare_gap(0.0)
    assert found.p_value == 1.0
    assert found.hangings_needed is None
    assert json.loads(found.to_json())["hangings_needed"] is None


def test_all_faults_at_once():
    with pytest.raises(RepeatsError) as caught:
        bare_gap(math.inf, hangings=0, readings=0, rehang_sd_db=-1, reading_sd_db=40, step_db=0, swr=(0.5, 2),
                 confidence=95, chance=1.0, matter_db=0)
    assert len(caught.value.faults) == 10
    assert "confidence is not a probability: got 95; allowed: above 0 and below 1. For 95 per cent write 0.95." in str(
        caught.value)
    assert "No number of repeats makes it certain" in str(caught.value)


def test_spreads_of_zero_are_refused():
    with pytest.raises(RepeatsError, match="both spreads are 0, and then every gap would be real"):
        bare_gap(1.0, rehang_sd_db=0, reading_sd_db=0)
