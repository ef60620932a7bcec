"""The fixed lattice: its claimed error, its known controls, and that it is fixed."""

import numpy as np
import pytest
from scipy.special import ndtri
from scipy.stats import multivariate_normal

from antexp.mixed import union_sampling
from antexp.mixed.union_sampling import Twin, pair_share, radial_tail, rank_root, sampled_share


def lag(m, r):
    return r ** np.abs(np.subtract.outer(np.arange(m), np.arange(m)))


@pytest.mark.parametrize("sides", [1, 2])
@pytest.mark.parametrize("r", [-0.8, -0.2, 0.0, 0.5, 0.95])
def test_pair_share_against_scipy(r, sides):
    level = 1.3
    both = multivariate_normal.cdf([-level, -level], cov=[[1, r], [r, 1]])
    if sides == 2:
        both = 2 * (both + multivariate_normal.cdf([-level, -level], cov=[[1, -r], [-r, 1]]))
    one = sides * multivariate_normal.cdf(-level)
    assert pair_share(np.array([[1, r], [r, 1]]), level, sides) == pytest.approx(both / (2 * one), abs=1e-7)


def test_radial_tail_averages_to_the_normal_tail():
    rng = np.random.default_rng(1)
    direction = rng.normal(size=(200_000, 3))
    cosine = direction[:, 0] / np.linalg.norm(direction, axis=1)
    for level, sides in ((1.0, 2), (1.0, 1), (-0.5, 1)):
        expected = sides * multivariate_normal.cdf(-level)
        # 200,000 random directions: a standard error below 1e-3.
        assert radial_tail(cosine, level, 3, sides).mean() == pytest.approx(expected, abs=4e-3)


def test_root_of_a_singular_correlation():
    r = np.array([[1.0, 0.5, -0.5], [0.5, 1.0, 0.5], [-0.5, 0.5, 1.0]])
    root = rank_root(r)
    assert root.shape == (3, 2)
    assert root @ root.T == pytest.approx(r, abs=1e-12)


def test_the_same_on_every_call():
    levels = np.array([1.0, 3.0])
    first = sampled_share(lag(5, 0.6), levels, 2)
    union_sampling._points.cache_clear()
    second = sampled_share(lag(5, 0.6), levels, 2)
    assert np.array_equal(first[0], second[0])


@pytest.mark.parametrize("name", ["lag", "rank four"])
def test_claimed_error_covers_the_spread_over_random_lattices(name, monkeypatch):
    levels = np.array([1.75, 2.5, 3.5])
    loadings = np.random.default_rng(1).normal(size=(10, 4))
    loadings /= np.linalg.norm(loadings, axis=1, keepdims=True)
    r = lag(6, 0.6) if name == "lag" else loadings @ loadings.T

    def shifted(seed):
        def points(block, rank):
            shift = np.random.default_rng(seed).uniform(size=rank + 1)
            step = np.sqrt([2, 3, 5, 7, 11, 13, 17][: rank + 1])
            index = np.arange(union_sampling._BLOCK)[:, None] + block * union_sampling._BLOCK
            u = 1 - np.abs(2 * ((index * step + shift) % 1) - 1)
            u = np.clip(u, 1e-12, 1 - 1e-12)
            return u[:, 0], ndtri(u[:, 1:])

        return points

    shares, claims = [], []
    for seed in range(8):
        monkeypatch.setattr(union_sampling, "_points", shifted(seed))
        share, claim = sampled_share(r, levels, 2)
        shares.append(share)
        claims.append(claim)
    spread = np.std(shares, axis=0, ddof=1) / np.mean(shares, axis=0)
    # Eight lattices know their own spread to within a factor of two (chi-squared on 7 df, 99.9 per cent).
    assert np.all(spread < 2.0 * np.mean(claims, axis=0))
    assert np.all(np.mean(claims, axis=0) < 7e-4)


def test_a_twin_of_another_rank_is_left_aside():
    """Its directions have another dimension and cannot stand beside; the answer is the one without it."""
    singular = np.array([[1.0, 0.5, -0.5], [0.5, 1.0, 0.5], [-0.5, 0.5, 1.0]])

    def never(levels):
        raise AssertionError("the share of such a twin says nothing")

    levels = np.array([1.0, 2.5])
    plain = sampled_share(lag(3, 0.6), levels, 2)
    beside = sampled_share(lag(3, 0.6), levels, 2, Twin(singular, never))
    assert np.array_equal(plain[0], beside[0]) and np.array_equal(plain[1], beside[1])
