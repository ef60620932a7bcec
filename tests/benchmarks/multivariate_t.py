"""Time critical values and adjusted p, beside scipy's routes to the same numbers in the same run.

Run with ``python tests/benchmarks/multivariate_t.py``; it prints the figures of this machine. The correlations are
those of tests/reference/mvtnorm/cases.json. scipy gives a probability at one level by one call, to about 1e-4 or
1e-3; a critical value takes it about ten such calls, which is not counted here.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
from scipy import stats

from antexp.mixed import first_beyond, multivariate_normal, multivariate_t, union_sampling
from antexp.mixed.factor_correlation import all_pairs_correlation
from antexp.mixed.multivariate_t import adjusted_p, critical_value, critical_values_many

CASES = Path(__file__).parents[1] / "reference" / "mvtnorm" / "cases.json"
REPEATS = 5


def forget() -> None:
    """Empty what the kernel remembers, so that the next call is a first one."""
    multivariate_normal._remembered.cache_clear()
    multivariate_t._point.cache_clear()
    union_sampling._points.cache_clear()
    first_beyond._uniforms.cache_clear()


def milliseconds(call: Callable[[], object], before: Callable[[], object] = lambda: None) -> np.ndarray:
    """Return the shortest, middle and longest time of some runs, in ms of processor time."""
    taken = []
    for _ in range(REPEATS):
        before()
        start = time.process_time()
        call()
        taken.append(1e3 * (time.process_time() - start))
    return np.percentile(taken, [0, 50, 100])


def scipy_tail(correlation: np.ndarray, level: float, df: float) -> Callable[[], object]:
    """Return a call of scipy's multivariate t for the tail at one level, to the error it reaches by default."""
    frozen = stats.multivariate_t(shape=correlation, df=df, allow_singular=True, seed=1)
    m = len(correlation)
    return lambda: 1.0 - frozen.cdf(np.full(m, level), lower_limit=np.full(m, -level))


def line(name: str, ours: np.ndarray, again: np.ndarray, theirs: np.ndarray, whose: str) -> str:
    """Return one line of the table."""
    return (
        f"{name:40s} first {ours[1]:7.1f} ({ours[0]:.1f}–{ours[2]:.1f}) ms, again {again[1]:6.3f} ms; "
        f"{whose} {theirs[1]:8.1f} ({theirs[0]:.1f}–{theirs[2]:.1f}) ms; ratio {theirs[1] / ours[1]:.2g}"
    )


def main() -> None:
    """Print the table."""
    critical_value(np.eye(2), 5.0)  # imports and tables that belong to no case
    cases = {case["name"]: np.array(case["correlation"]) for case in json.loads(CASES.read_text(encoding="utf-8"))}
    cases = {"reference 10, balanced": np.full((10, 10), 0.5) + 0.5 * np.eye(10)} | cases
    cases["all pairs of 12, balanced"] = all_pairs_correlation(12)
    for name, r in cases.items():
        if name.endswith("one-sided"):
            continue
        first = milliseconds(lambda r=r: critical_value(r, 17.3), forget)
        again = milliseconds(lambda r=r: adjusted_p(np.linspace(1, 4, len(r)), r, 17.3))
        theirs = milliseconds(scipy_tail(r, 3.0, 17.3))
        print(line(f"{name} ({len(r)})", first, again, theirs, "scipy multivariate_t"))
    rng = np.random.default_rng(1)
    groups = [rng.normal(size=4) for _ in range(10)]
    balanced, t = cases["reference 10, balanced"], np.linspace(1, 4, 10)
    first = milliseconds(lambda: adjusted_p(t, balanced, 33), forget)
    again = milliseconds(lambda: adjusted_p(t, balanced, 33))
    theirs = milliseconds(lambda: stats.dunnett(*groups, control=rng.normal(size=4), rng=np.random.default_rng(1)))
    print(line("ten adjusted p, balanced", first, again, theirs, "scipy dunnett"))
    df = rng.uniform(6.0, 60.0, (10_000, 10))
    one = milliseconds(lambda: critical_values_many(balanced, df[:, 0]), forget)
    ten = milliseconds(lambda: critical_values_many(balanced, df), forget)
    print(f"10,000 records: one df a record {one[1]:.1f} ms, ten df a record {ten[1]:.1f} ms")


if __name__ == "__main__":
    main()
