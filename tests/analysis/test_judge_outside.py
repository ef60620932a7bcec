"""The judgement against outside results: published analyses and general reference libraries."""

from __future__ import annotations

import json
import warnings
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf
from scipy import stats

from antexp.analysis.judge import judge

ROOT = Path(__file__).parents[2]
REFERENCE = ROOT / "tests" / "reference"


def balanced_record(blocks: int = 6, readings: int = 3, seed: int = 5, rehang: float = 0.5) -> pd.DataFrame:
    """Every candidate once in every block, invented levels."""
    random = np.random.default_rng(seed)
    rows = []
    for block in range(blocks):
        level = -50 + random.normal(0, 1)
        for position, name in enumerate(random.permutation(["A", "B", "C", "D"])):
            hang = level + {"A": 0, "B": 0.4, "C": -1.2, "D": 0.1}[str(name)] + random.normal(0, rehang)
            rows += [(4 * block + position + 1, block + 1, name, 7 * position, hang + random.normal(0, 0.3))
                     for _ in range(readings)]  # fmt: skip
    return pd.DataFrame(rows, columns=["swap", "block", "candidate", "minutes", "level_db"])


def test_ergostool_matches_its_published_analysis():
    """Data nlme::ergoStool (Wretenberg et al. 1993); Pinheiro & Bates (2000) section 1.2 (digits from memory)."""
    case = json.loads((REFERENCE / "A09_ergostool.json").read_text(encoding="utf-8"))
    published = case["expected"]["published"]
    result = judge(ROOT / "examples" / "stools" / "readings.csv", ROOT / "examples" / "stools" / "plan.toml")
    # the file calls effort a level; one reading a sitter and stool, so the residual stands as the re-hanging scatter
    np.testing.assert_allclose(result.gaps["gap_db"], published["estimates"][1:], atol=5e-5)  # four printed digits
    np.testing.assert_allclose(result.gaps["standard_error_db"], published["se_difference"], atol=5e-5)
    np.testing.assert_allclose(result.gaps["degrees_of_freedom"], published["df"], rtol=1e-9)
    assert result.spread.rehang_sd_db == pytest.approx(published["sd_residual"], abs=5e-5)
    assert result.spread.reading_sd_db is None
    exact = [row for row in case["expected_high_precision"]["contrasts"] if row["contrast"] != "(Intercept)"]
    np.testing.assert_allclose(result.gaps["gap_db"], [row["estimate"] for row in exact], rtol=1e-9)
    np.testing.assert_allclose(result.gaps["standard_error_db"], [row["se_kr"] for row in exact], rtol=1e-8)


def test_balanced_record_is_the_analysis_of_variance_of_swap_means():
    record = balanced_record()
    result = judge(record, reference="A", drift="none", matter_db=1.0)
    means = record.groupby(["block", "candidate"])["level_db"].mean().unstack()
    residual = means.sub(means.mean(axis=1), axis=0).sub(means.mean(), axis=1) + means.to_numpy().mean()
    df = 5 * 3
    mean_square = float((residual**2).to_numpy().sum() / df)
    np.testing.assert_allclose(result.gaps["gap_db"], (means.mean() - means["A"].mean())[["B", "C", "D"]].loc[
        list(result.gaps["candidate"])], rtol=1e-9)  # fmt: skip
    np.testing.assert_allclose(result.gaps["standard_error_db"], np.sqrt(2 * mean_square / 6), rtol=1e-6)
    np.testing.assert_allclose(result.gaps["degrees_of_freedom"], df, rtol=1e-5)


def test_statsmodels_powell_agrees_where_it_converges():
    """statsmodels MixedLM (method powell), a general library, as the independent second opinion."""
    record = balanced_record(rehang=0.8)
    record["minutes"] += np.tile([0.0, 0.5, 1.0], len(record) // 3)
    result = judge(record, reference="A", drift="steady", matter_db=1.0)
    middle = record.groupby("block")["minutes"].transform(lambda t: (t.min() + t.max()) / 2)
    record["hours"] = (record["minutes"] - middle) / 60
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # its own remarks on convergence; the comparison below decides
        fit = smf.mixedlm(
            "level_db ~ C(candidate) + C(block) + hours:C(block)", record, groups="swap"
        ).fit(reml=True, method="powell")  # fmt: skip
    for row in result.gaps.itertuples():
        # statsmodels stops at a relative step of 1e-4 or so in the variances; gaps depend on them weakly
        assert row.gap_db == pytest.approx(fit.params[f"C(candidate)[T.{row.candidate}]"], abs=2e-4)
    assert result.spread.rehang_sd_db == pytest.approx(float(np.sqrt(fit.cov_re.iloc[0, 0])), rel=2e-2)
    assert result.spread.reading_sd_db == pytest.approx(float(np.sqrt(fit.scale)), rel=1e-3)


def one_way(sizes: dict[str, int], seed: int = 11) -> pd.DataFrame:
    """One block, one reading a swap, no drift: the classic one-way layout."""
    random = np.random.default_rng(seed)
    names = [name for name, size in sizes.items() for _ in range(size)]
    shift = {name: 0.4 * i for i, name in enumerate(sizes)}
    levels = [-60 + shift[name] + random.normal(0, 0.5) for name in names]
    return pd.DataFrame(
        {"swap": range(1, len(names) + 1), "candidate": names, "minutes": 7.0 * np.arange(len(names)),
         "level_db": levels}
    )  # fmt: skip


def test_limits_and_p_against_scipy_dunnett():
    """scipy.stats.dunnett (Dunnett 1955) on a one-way layout, unequal group sizes."""
    record = one_way({"ref": 8, "B": 5, "C": 5, "D": 6})
    result = judge(record, reference="ref", drift="none", matter_db=1.0)
    groups = {name: rows["level_db"].to_numpy() for name, rows in record.groupby("candidate")}
    outside = stats.dunnett(groups["B"], groups["C"], groups["D"], control=groups["ref"],
                            rng=np.random.default_rng(1))  # fmt: skip
    # scipy integrates by randomised quasi-Monte Carlo: good to about 1e-3
    np.testing.assert_allclose(result.gaps["p_adjusted"], outside.pvalue, atol=1e-3)
    limits = outside.confidence_interval(0.95)
    np.testing.assert_allclose([pair[0] for pair in result.gaps["interval_db"]], limits.low, atol=4e-3)
    np.testing.assert_allclose([pair[1] for pair in result.gaps["interval_db"]], limits.high, atol=4e-3)


def test_all_pairs_against_scipy_tukey_hsd():
    """scipy.stats.tukey_hsd on a balanced one-way layout."""
    record = one_way({"A": 6, "B": 6, "C": 6, "D": 6})
    result = judge(record, compare="each-other", drift="none", matter_db=1.0)
    groups = [rows["level_db"].to_numpy() for _, rows in record.groupby("candidate")]
    outside = stats.tukey_hsd(*groups)
    limits = outside.confidence_interval(0.95)
    for row in result.gaps.itertuples():
        i, j = "ABCD".index(row.candidate), "ABCD".index(row.against)
        assert row.p_adjusted == pytest.approx(outside.pvalue[i, j], rel=2e-3, abs=1e-6)
        assert row.interval_db[0] == pytest.approx(limits.low[i, j], abs=2e-3)
        assert row.interval_db[1] == pytest.approx(limits.high[i, j], abs=2e-3)


def test_repeatability_limit_is_that_of_iso_5725():
    """ISO 5725-6:1994 4.1: r = 1.96·√2·s, printed as 2.8 s (from memory); tests/reference/C12."""
    case = json.loads((REFERENCE / "C12_repeatability_limit.json").read_text(encoding="utf-8"))
    from antexp.analysis.result import Spread

    worked = case["worked"]
    # the reference uses the exact 97.5 % point 1.959964, antexp the printed 1.96
    assert Spread(worked["sd_within"], 0.0).repeatability_limit_db == pytest.approx(worked["limit_exact"], rel=1e-4)
