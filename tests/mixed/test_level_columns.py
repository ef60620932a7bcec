"""Fixed columns kept by level give the fit of the matrix they stand for, and large records the fit of small ones."""

import numpy as np
import pytest

from antexp.mixed import fit_reml, level_columns
from antexp.mixed.cross_products import QR_LIMIT


def large_record(seed=0, readings=QR_LIMIT + 5_000, swaps=200, blocks=20):
    """9 candidates, lines in each block at each reading's own minutes; 1 to several hundred readings a swap."""
    rng = np.random.default_rng(seed)
    candidate = np.concatenate([rng.permutation(np.arange(swaps // blocks) % 9) for _ in range(blocks)])
    block = np.repeat(np.arange(blocks), swaps // blocks)
    share = rng.exponential(size=swaps) + 0.002
    code = np.sort(np.concatenate([np.arange(swaps), rng.choice(swaps, readings - swaps, p=share / share.sum())]))
    minutes = np.tile(np.arange(swaps // blocks) * 6.0, blocks)[code] + rng.uniform(0, 4, readings) - 27.0
    table = np.column_stack([np.eye(9)[candidate], np.eye(blocks)[block][:, 1:], np.zeros((swaps, blocks))])
    slopes = np.column_stack([np.zeros((swaps, 9 + blocks - 1)), np.eye(blocks)[block]])
    y = rng.normal(0, 0.5, swaps)[code] + rng.normal(0, 0.4, readings) - 70.0
    return y, level_columns(code, table, minutes=(minutes, slopes)), code, block[code]


def contrasts_of(columns):
    return np.column_stack([-np.ones(8), np.eye(8), np.zeros((8, columns.shape[1] - 9))])


def assert_same(one, other, L, rel=1e-9):
    for name, variance in one.variances.items():
        assert other.variances[name] == pytest.approx(variance, rel=1e-8)
    assert other.residual_variance == pytest.approx(one.residual_variance, rel=rel)
    assert other.restricted_log_likelihood == pytest.approx(one.restricted_log_likelihood, abs=1e-5)
    a, b = one.contrasts(L), other.contrasts(L)
    np.testing.assert_allclose(b.estimates, a.estimates, atol=1e-9)
    np.testing.assert_allclose(b.standard_errors, a.standard_errors, rtol=1e-8)
    np.testing.assert_allclose(b.degrees_of_freedom, a.degrees_of_freedom, rtol=1e-7)


def test_by_level_equals_dense():
    y, columns, code, _ = large_record()
    counts = np.bincount(code)
    assert counts.min() == 1 and counts.max() > 300
    dense = fit_reml(y, columns.dense(), {"swap": code})
    assert_same(dense, fit_reml(y, columns, {"swap": code}), contrasts_of(columns))


def test_chunks_equal_one_pass(monkeypatch):
    """The QR of a small record and the Cholesky of chunked products are one fit: squares cost half the digits."""
    y, columns, code, _ = large_record()
    X, L = columns.dense(), contrasts_of(columns)
    chunked = fit_reml(y, X, {"swap": code})
    monkeypatch.setattr("antexp.mixed.cross_products.QR_LIMIT", y.size)
    assert_same(fit_reml(y, X, {"swap": code}), chunked, L)


def test_a_record_taken_by_level_in_many_passes_is_that_of_one(monkeypatch):
    """Readings stand swap by swap, so that all passes but the first begin beyond the first levels."""
    y, columns, code, _ = large_record(2)
    whole = fit_reml(y, columns, {"swap": code})
    monkeypatch.setattr("antexp.mixed.level_products.CHUNK", y.size // 7)
    assert_same(whole, fit_reml(y, columns, {"swap": code}), contrasts_of(columns))


def test_other_terms_by_level():
    y, columns, code, block = large_record(1)
    keep = np.r_[:9, 9 + 19 : columns.shape[1]]
    constant, slopes = columns.tables[:, :, keep]
    random_blocks = level_columns(code, constant, minutes=(columns.covariates[:, 0], slopes))
    groups = {"swap": code, "block": block}
    L = contrasts_of(random_blocks)
    assert_same(fit_reml(y, random_blocks.dense(), groups), fit_reml(y, random_blocks, groups), L)
    observer = np.random.default_rng(0).integers(0, 4, y.size)  # differs within swaps, so the matrix itself is needed
    groups = {"swap": code, "observer": observer}
    assert_same(fit_reml(y, random_blocks.dense(), groups), fit_reml(y, random_blocks, groups), L)


def test_aliased_columns_of_a_large_record():
    y, columns, code, _ = large_record()
    X = columns.dense()
    wide = np.column_stack([X, X[:, 0] + X[:, 1]])
    fit, plain = fit_reml(y, wide, {"swap": code}), fit_reml(y, X, {"swap": code})
    assert len(fit.aliased) == 1
    row = np.zeros(wide.shape[1])
    row[3:5] = -1.0, 1.0
    assert fit.contrast(row).standard_error == pytest.approx(plain.contrast(row[:-1]).standard_error, rel=1e-8)
    with pytest.raises(ValueError, match="rank check of X"):
        fit.contrast(np.eye(row.size)[0])


def test_a_large_record_with_a_hole_is_refused():
    y, columns, code, _ = large_record()
    y[77] = np.nan
    with pytest.raises(ValueError, match="must be finite"):
        fit_reml(y, columns.dense(), {"swap": code})
    with pytest.raises(ValueError, match="must be finite"):
        fit_reml(y, columns, {"swap": code})


def test_ten_thousand_swaps_never_make_a_square_of_swaps():
    """A dense swap-by-swap matrix would be 800 MB; the fit of 30,000 readings stays below 60 MB."""
    import tracemalloc

    rng = np.random.default_rng(2)
    code = np.repeat(np.arange(10_000), 3)
    candidate, block = rng.integers(0, 9, 10_000), np.repeat(np.arange(10), 1_000)
    X = np.column_stack([np.eye(9)[candidate], np.eye(10)[block][:, 1:]])[code]
    y = rng.normal(0, 0.5, 10_000)[code] + rng.normal(0, 0.4, 30_000)
    specimen = (candidate * 4 + rng.integers(0, 4, 10_000))[code]
    tracemalloc.start()
    fit = fit_reml(y, X, {"swap": code, "specimen": specimen})
    fit.contrasts(np.column_stack([-np.ones(8), np.eye(8), np.zeros((8, 9))]))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert fit.levels == {"swap": 10_000, "specimen": 36}
    assert fit.variances["swap"] == pytest.approx(0.25, rel=0.1)
    assert peak < 60e6


def test_levels_without_readings_and_wrong_shapes_are_refused():
    with pytest.raises(ValueError, match=r"got 3 levels, 2 of them read; every level needs a reading"):
        level_columns([0, 0, 2], np.eye(3))
    with pytest.raises(ValueError, match=r"got shapes \(3,\) and \(3,\)"):
        level_columns([0, 1, 2], np.ones(3))
    with pytest.raises(ValueError, match=r"covariate 'minutes' does not fit"):
        level_columns([0, 1], np.eye(2), minutes=([1.0], np.eye(2)))


def test_a_walk_over_the_swaps_by_level():
    """Loadings that are the same for all readings of a swap are taken by level like everything else."""
    y, columns, code, _ = large_record(2, swaps=60, blocks=6)
    walk = np.kron(np.eye(6), np.tri(10)[:, 1:])[code]
    y = y + walk @ np.random.default_rng(3).normal(0, 0.3, walk.shape[1])
    groups = {"swap": code, "walk": walk}
    L = np.column_stack([-np.ones(8), np.eye(8), np.zeros((8, columns.shape[1] - 9))])
    assert_same(fit_reml(y, columns.dense(), groups), fit_reml(y, columns, groups), L, rel=1e-8)


@pytest.mark.parametrize("term", ["half swaps", "observers"])
def test_columns_by_swap_beside_a_term_that_is_not_the_swap(term):
    """What is kept by swap says nothing by half swap or observer: then the matrix itself serves."""
    y, columns, code, _ = large_record(3)
    half = 2 * code + (np.arange(y.size) % 2)
    groups = {"half": half} if term == "half swaps" else {"observer": half % 7}
    L = contrasts_of(columns)
    assert_same(fit_reml(y, columns.dense(), groups), fit_reml(y, columns, groups), L)
