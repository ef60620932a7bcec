"""Records whose readings do not scatter within a level: the level means stand for them, level above level."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import CrossProducts, never_meet, within_gram
from antexp.mixed.error_line import coarser_terms, lives_between, means_of_levels, shares_within
from antexp.mixed.restricted_likelihood import residual_square
from antexp.mixed.unidentified import UnidentifiedError

NO_NOISE = 1e-12
"""Share of the residual sum of squares within levels below which reading noise is rounding: centred products
keep about 1e-15, and a meter's noise is never a millionth of the rig's scatter."""

SURELY = 1e3
"""Weight of a direction that is known exactly beside the level means: it adds a millionth of a level's variance, and
ten digits of the means are left."""


def quiet_stages(products: CrossProducts) -> tuple[list[CrossProducts], CrossProducts]:
    """Go up from readings to level means as long as nothing scatters within the levels, up to those of the first term.

    Parameters
    ----------
    products : CrossProducts

    Notes
    -----
    Where the fixed columns live between the levels (swaps), equal weights for the level means, whatever the readings
    within a level say. Else (specimens within blocks, receivers within swaps) what the columns do within the levels is
    known exactly, and the means tell the rest: the limit of generalised least squares as the noise goes to nothing.

    Returns
    -------
    stages : list of CrossProducts
        Each holds by level the term that its means take out; the readings' own first. Empty where readings scatter.
    fitted : CrossProducts
        What is left to fit.

    Raises
    ------
    UnidentifiedError
        Where as many means are left as fixed columns.
    """
    stages: list[CrossProducts] = []
    fitted: CrossProducts = products
    stage: CrossProducts | None = products
    while stage is not None and _is_quiet(stage):
        stages.append(stage)
        fitted = _of_levels(stage)
        if fitted.readings <= fitted.rank:
            raise UnidentifiedError(
                f"no level of {stage.names[stage.eliminated]!r} is left over to judge the scatter by: the readings "
                "within a level do not scatter, and the fixed columns take up all of the levels' means. Take more "
                "of them, or ask for a simpler drift"
            )
        stage = _by_its_largest(fitted) if products.names[0] in fitted.names else None
    return stages, fitted


def effects_of_stages(
    stages: list[CrossProducts], beta: Floats, effects: dict[str, Floats]
) -> dict[str, Floats]:
    """Predict the terms that were taken out: what the means leave over, from the coarsest to the finest.

    Parameters
    ----------
    stages : list of CrossProducts
    beta : ndarray, shape (r,)
        Coefficients of the orthonormal columns.
    effects : dict of str to ndarray
        Of the terms that were fitted.

    Returns
    -------
    dict of str to ndarray
        Of all terms.
    """
    found = dict(effects)
    for stage in reversed(stages):
        name = stage.names[stage.eliminated]
        others = np.concatenate([beta - stage.level, *(found[n] for n in stage.names if n != name)])
        found[name] = (stage.sums[:, -1] - stage.sums[:, :-1] @ others) / stage.counts
    return found


def _is_quiet(products: CrossProducts) -> bool:
    """Tell whether the levels of the eliminated term scatter, and what lies within them by rounding only."""
    if products.eliminated < 0:
        return False
    r, inside = products.rank, products.within
    part = np.linalg.lstsq(inside[:r, :r], inside[:r, -1], rcond=1e-10)[0] if inside[:r, -1].any() else np.zeros(r)
    noise = float(inside[-1, -1] - part @ inside[:r, -1])
    whole = residual_square(products)
    coarse = coarser_terms(products)
    coarse[products.eliminated] = True
    return noise <= NO_NOISE * whole and whole > 0.0 and bool(coarse.all())


def _of_levels(stage: CrossProducts) -> CrossProducts:
    """Return the products of the level means, on the same coefficients."""
    means = means_of_levels(stage, np.arange(len(stage.names)) != stage.eliminated, power=1.0)
    r, inside = stage.rank, stage.within
    if lives_between(stage):
        return means
    shares, directions = shares_within(stage)
    unknown = int((shares < 1e-9).sum())  # the first, as they ascend
    seen = np.linalg.qr(directions[:, :unknown], mode="complete")[0][:, unknown:]
    known = seen @ np.linalg.solve(seen.T @ inside[:r, :r] @ seen, seen.T @ inside[:r, -1])
    turn = np.eye(means.gram.shape[0])
    turn[:r, :r] -= seen @ seen.T
    turn[:r, -1] = -known  # the means less what is known of them
    gram = turn.T @ means.gram @ turn
    gram[:r, :r] += SURELY**2 * seen @ seen.T
    return replace(means, readings=means.readings + seen.shape[1], gram=gram, within=gram, level=stage.level + known)


def _by_its_largest(means: CrossProducts) -> CrossProducts | None:
    """Hold the largest set of codes among the terms by level; None where there is none."""
    r = means.rank
    sizes = [b.stop - b.start if _is_codes(means.gram[r + b.start : r + b.stop, r + b.start : r + b.stop]) else 0
             for b in means.blocks]  # fmt: skip
    if not sizes or max(sizes) == 0:
        return None
    term = int(np.argmax(sizes))
    own = np.arange(r + means.blocks[term].start, r + means.blocks[term].stop)
    rest = np.setdiff1d(np.arange(means.gram.shape[0]), own)
    counts, sums = np.diag(means.gram)[own].copy(), means.gram[np.ix_(own, rest)]
    gram = means.gram[np.ix_(rest, rest)]
    ends = np.cumsum([0, *(0 if i == term else b.stop - b.start for i, b in enumerate(means.blocks))])
    blocks = tuple(slice(int(a), int(b)) for a, b in pairwise(ends))
    return replace(means, eliminated=term, blocks=blocks, counts=counts, sums=sums, gram=gram,
                   within=within_gram(gram, sums, counts))  # fmt: skip


def _is_codes(gram: Floats) -> bool:
    """Tell whether a term's columns are those of codes that all occur."""
    return bool((np.diag(gram) > 0).all()) and never_meet(gram)
