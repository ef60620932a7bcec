"""The gap budget: shares that add up, uncertainties after the GUM, unknown shares that stay unknown."""

import numpy as np
import pytest

from antexp.radio.gap_budget import (
    SHARES,
    MatchLoss,
    gap_budget,
    height_share_db,
    match_loss,
    matched_gaps,
    mean_match_loss,
    range_to_standard_uncertainty,
)


def loss(*values, u=0.05):
    return MatchLoss(np.array(values, float), np.full(len(values), u))


def test_loss_from_impedance_or_swr():
    # SWR 2 is 0.512 dB (SWR table); 100 Ω on 50 Ω is SWR 2
    found = match_loss(50.0, [100.0, np.nan, np.nan], [np.nan, 2.0, np.nan])
    assert found.loss_db[:2] == pytest.approx([0.5115, 0.5115], abs=1e-4)
    assert found.u_db[0] == pytest.approx(found.u_db[1])
    assert np.isnan(found.loss_db[2]) and np.isnan(found.u_db[2])


def test_an_impedance_is_preferred_to_an_swr():
    assert match_loss(50.0, [50.0], [3.0]).loss_db == pytest.approx([0.0], abs=1e-12)


def test_shares_add_up_to_the_measured_gap():
    budget = gap_budget([-1.9, 0.4], [0.3, 0.2], mismatch_loss=loss(0.6, 0.1), against_mismatch_loss=loss(0.1, 0.1),
                        conductor_gap_db=[-0.9, 0.02], conductor_u_db=0.1, height_db=[-0.1, 0.0], height_u_db=0.05)
    assert tuple(budget.shares()) == SHARES
    assert sum(share for share, _ in budget.shares().values()) == pytest.approx([-1.9, 0.4])
    assert budget.mismatch_db == pytest.approx([-0.5, 0.0]), "the first named loses more: it is weaker for that"
    assert budget.unexplained_db == pytest.approx([-0.4, 0.38])


def test_matched_gap_and_its_standard_error():
    budget = gap_budget(-1.9, 0.3, mismatch_loss=loss(0.6), against_mismatch_loss=loss(0.1))
    assert budget.matched_db == pytest.approx([-1.4])
    # GUM 5.1.2: root of the sum of squares
    assert budget.matched_se_db == pytest.approx([np.sqrt(0.3**2 + 2 * 0.05**2)])
    assert budget.unexplained_u_db == pytest.approx(budget.matched_se_db)


def test_what_is_not_known_stays_unknown_and_in_the_rest():
    budget = gap_budget([-1.0], [0.1], mismatch_loss=loss(np.nan), against_mismatch_loss=loss(0.1))
    assert np.isnan(budget.mismatch_db[0]) and np.isnan(budget.matched_db[0])
    assert budget.unexplained_db == pytest.approx([-1.0])
    assert not budget.too_large[0], "without the metal's share the rest may well be metal"


def test_a_rest_too_large_for_the_physics():
    budget = gap_budget([-2.0, -1.1], [0.3, 0.3], mismatch_loss=loss(0.1, 0.1), against_mismatch_loss=loss(0.1, 0.1),
                        conductor_gap_db=-1.0, conductor_u_db=0.2)
    assert budget.too_large.tolist() == [True, False]


def test_a_source_of_unknown_phase_widens_an_swr_but_not_an_impedance():
    plain = match_loss(50.0, [np.nan, 100.0], [2.0, np.nan])
    wide = match_loss(50.0, [np.nan, 100.0], [2.0, np.nan], source_reflection=0.2)
    # Harris & Warner 1981: 8.686·0.2·(1/3)/√2
    assert wide.u_db[0] == pytest.approx(np.hypot(plain.u_db[0], 8.686 * 0.2 / 3 / np.sqrt(2)), rel=1e-4)
    assert wide.u_db[1] == plain.u_db[1]


def test_gaps_to_one_reference_share_its_impedance():
    losses = MatchLoss(np.array([0.1, 0.6, np.nan]), np.array([0.05, 0.08, np.nan]))
    contrasts = [[-1, 1, 0], [1, -1, 0], [-1, 0, 1]]
    gaps, covariance = matched_gaps([-1.9, 1.9, 0.3], np.diag([0.04, 0.04, 0.04]), contrasts, losses)
    assert gaps[:2] == pytest.approx([-1.4, 1.4]) and np.isnan(gaps[2])
    assert covariance[0, 0] == pytest.approx(0.04 + 0.05**2 + 0.08**2)
    assert covariance[0, 1] == pytest.approx(-(0.05**2) - 0.08**2)
    assert np.isnan(covariance[2]).all()
    budget = gap_budget(-1.9, 0.2, mismatch_loss=loss(0.6, u=0.08), against_mismatch_loss=loss(0.1, u=0.05))
    assert covariance[0, 0] == pytest.approx(budget.matched_se_db[0] ** 2), "the same answer as for one gap alone"


def test_mean_over_swaps_and_over_one_measurement():
    losses, group = loss(0.2, 0.4, np.nan, 0.1), np.array([0, 0, 1, 2])
    each = mean_match_loss(losses, group, 3, independent=True)
    same = mean_match_loss(losses, group, 3, independent=False)
    assert each.loss_db[[0, 2]] == pytest.approx([0.3, 0.1]) and np.isnan(each.loss_db[1])
    assert each.u_db[0] == pytest.approx(0.05 / np.sqrt(2)) and same.u_db[0] == pytest.approx(0.05)


def test_standard_uncertainty_of_a_range():
    # GUM 4.3.7: half width over √3
    assert range_to_standard_uncertainty(-1.0, 1.0) == pytest.approx(1 / np.sqrt(3))


def test_height_share():
    assert height_share_db(1.0, 8.9, 9.0) == pytest.approx(-0.1)


def test_the_coverage_of_a_family_keeps_chance_from_pointing_at_crimps():
    rest = {"mismatch_loss": loss(0.0, u=0.0), "against_mismatch_loss": loss(0.0, u=0.0), "conductor_gap_db": 0.0,
            "conductor_u_db": 0.0}
    assert gap_budget(-0.66, 0.3, **rest).too_large.tolist() == [True]
    assert gap_budget(-0.66, 0.3, **rest, coverage_factor=2.6).too_large.tolist() == [False]
    assert gap_budget(-9.0, 0.3, **rest, coverage_factor=np.nan).too_large.tolist() == [False]
