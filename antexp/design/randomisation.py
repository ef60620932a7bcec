"""Restricted randomisation: a random order out of the good ones, and more of them from the same set.

Stream A draws many orders and fixes the largest variance an order may have; the order is the first draw of stream B
at or below it; redraws use the same rules and threshold (method section 6).

References
----------
Cox (1951), Biometrika 38:312; Bradley & Yeh (1980), Ann. Stat. 8:1356 (orders robust to trend);
Morgan & Rubin (2012), Ann. Stat. 40:1263, doi:10.1214/12-AOS1008 (redrawing until balance).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from antexp.design.information import contrast_rows, drift_filter, information, mean_variance
from antexp.design.mending import mended
from antexp.design.order_rules import BLOCKS_STAND_DRIFT, NOT_TWICE, ORDERS_DIFFER, REFERENCE_NEAR, RULES
from antexp.design.recipe import Recipe
from antexp.design.specimen_turns import specimen_turns, specimens_apart
from antexp.design.streams import ORDERS, RULE_TRIALS, THRESHOLD
from antexp.errors import Fault, OrderError

STREAM_A_DRAWS = 2000
KEPT_AT_LEAST = 0.10
WITHIN_OF_BEST = 1.02
_CHUNK = 500
_RULE_NEEDS = 0.2  # a rule that fewer of the mended draws can keep is not asked for: it cannot be kept here
_MANY_BLOCKS = 40  # with more, an order that comes back says nothing, and keeping it from coming back takes long
_MANY_BLOCKS_OF_TWO = 6  # two wires have about so many sequences that stand drift
_HOPELESS = 200_000  # at least one in ten draws was good when the threshold was set
_SAME = 1 + 1e-9  # rounding of two routes to the same variance

Progress = Callable[[float, str], None]


@dataclass(frozen=True)
class Drawn:
    """Orders drawn from a recipe's set.

    Attributes
    ----------
    labels : ndarray of int, shape (d, n)
        Code of the candidate in each slot: a place in the recipe's `names`.
    specimens : ndarray of int, shape (d, n)
        Zero-based specimen in each slot.
    variances : ndarray, shape (d,)
        Mean variance of the asked gaps, in units of the swap variance.
    """

    labels: NDArray[np.intp]
    specimens: NDArray[np.intp]
    variances: NDArray[np.float64]


def select(recipe: Recipe, progress: Progress | None = None) -> tuple[Recipe, Drawn]:
    """Fix rules and threshold by stream A and take the first good draw of stream B.

    Parameters
    ----------
    recipe : Recipe
        Slots, labels and classes; its rules and threshold are replaced.
    progress : callable, optional
        Called with the share done, 0 … 1, and what is being done.

    Returns
    -------
    recipe : Recipe
        With everything a redraw needs.
    order : Drawn
        One order.

    Raises
    ------
    OrderError
        When no order of these slots tells the asked candidates apart, or keeps the reference near enough.
    """
    report = progress or (lambda share, what: None)
    recipe = replace(recipe, rules=_rules_in_force(recipe), threshold=float("inf"))
    rng = np.random.default_rng([recipe.seed, THRESHOLD])
    variances: list[NDArray[np.float64]] = []
    tried = got = 0
    while got < STREAM_A_DRAWS and tried < (20 if got else 4) * STREAM_A_DRAWS:
        variances.append(_draw(recipe, _CHUNK, rng).variances)
        tried, got = tried + _CHUNK, got + len(variances[-1])
        report(min(1.0, got / STREAM_A_DRAWS), "drawing orders")
    found = np.concatenate(variances)
    if not np.isfinite(found).any():
        raise _nothing_estimable(recipe)
    best = float(found.min())
    threshold = max(float(np.quantile(found, KEPT_AT_LEAST, method="inverted_cdf")), WITHIN_OF_BEST * best) * _SAME
    recipe = recipe.with_selection(stream_a_draws=len(found), best=best, threshold=threshold,
                                   kept_share=float(np.mean(found <= threshold)))
    order, number = _first_below(recipe)
    return recipe.with_selection(chosen_draw=number), order


def redraw(recipe: Recipe | Mapping[str, Any], draws: int, seed: int | np.random.Generator = 0) -> Drawn:
    """Draw more orders from the set an order came from, for re-randomisation.

    Parameters
    ----------
    recipe : Recipe or mapping
        An order's recipe, or the ``recipe`` of its JSON file.
    draws : int
        How many.
    seed : int or numpy.random.Generator

    Returns
    -------
    Drawn
        Each at or below the recipe's threshold and within its rules; fixed slots (the reference's, and what was
        hung before a replan) are the same in all.

    Raises
    ------
    OrderError
        When the recipe is damaged: not complete, or with a threshold that no order meets.
    """
    recipe = recipe if isinstance(recipe, Recipe) else Recipe.from_dict(recipe)
    rng = np.random.default_rng(seed)
    parts: list[Drawn] = []
    got = tried = 0
    while got < draws:
        some = _draw(recipe, 4 * _CHUNK, rng)
        tried += 4 * _CHUNK
        if tried > _HOPELESS * (got + 1):
            raise OrderError(Fault("the recipe's own rules and threshold admit no order", "recipe of the order",
                                   f"threshold {recipe.threshold:g}", do="Make the order again from the plan."))
        good = some.variances <= recipe.threshold
        parts.append(Drawn(some.labels[good], some.specimens[good], some.variances[good]))
        got += int(good.sum())
    return Drawn(
        np.concatenate([part.labels for part in parts])[:draws],
        np.concatenate([part.specimens for part in parts])[:draws],
        np.concatenate([part.variances for part in parts])[:draws],
    )


def one_draw(recipe: Recipe) -> NDArray[np.intp]:
    """Return the codes of one plain draw, shape (n,), for weighing a day before its order is selected."""
    return _shuffled(recipe, 1, np.random.default_rng([recipe.seed, THRESHOLD]))[0]


def _first_below(recipe: Recipe) -> tuple[Drawn, int]:
    """Return the first draw of stream B at or below the threshold, and its number."""
    rng = np.random.default_rng([recipe.seed, ORDERS])
    before = 0
    while True:
        some = _draw(recipe, _CHUNK // 10, rng)
        good = np.flatnonzero(some.variances <= recipe.threshold)
        if good.size:
            one = good[:1]
            order = Drawn(some.labels[one], some.specimens[one], some.variances[one])
            return order, before + int(one[0]) + 1
        before += len(some.variances)


def _draw(recipe: Recipe, draws: int, rng: np.random.Generator) -> Drawn:
    """Draw orders that keep the rules; those that could not be mended, or mix specimens up, are left out."""
    labels = mended(recipe, _shuffled(recipe, draws, rng), rng)
    slots = recipe.slots
    sweep = drift_filter(slots, recipe.drift, recipe.walk_variance)
    specimens = specimen_turns(recipe, labels)
    apart = specimens_apart(recipe, labels, specimens, sweep)
    L = contrast_rows(recipe.asked, len(recipe.names), recipe.places)
    matrices = information(labels, len(recipe.names), slots, sweep, recipe.places)
    return Drawn(labels[apart], specimens[apart], mean_variance(matrices, L)[apart])


def _shuffled(recipe: Recipe, draws: int, rng: np.random.Generator) -> NDArray[np.intp]:
    """Shuffle the labels within block and place, and trade names within classes."""
    drawn, cells = recipe.drawn, recipe.cells
    by_cell = np.argsort(cells, kind="stable")
    base = np.array(recipe.labels, np.intp)[by_cell]
    places = np.argsort(cells[by_cell] + rng.random((draws, len(drawn))), axis=1)
    labels = np.tile(np.array(recipe.fixed, np.intp), (draws, 1))
    names = np.tile(np.arange(len(recipe.names)), (draws, 1))
    for codes in recipe.classes:
        names[:, codes] = np.array(codes)[np.argsort(rng.random((draws, len(codes))), axis=1)]
    labels[:, drawn[by_cell]] = np.take_along_axis(names, base[places], axis=1)
    return labels


def _rules_in_force(recipe: Recipe) -> tuple[str, ...]:
    """Return the rules that orders of these slots can keep; the distance of the reference is kept or refused."""
    rules: tuple[str, ...] = ()
    # two wires: the same wire twice in a row is lowered and hung again
    of_two = (REFERENCE_NEAR, BLOCKS_STAND_DRIFT)
    first = of_two if recipe.reference_drawn else (NOT_TWICE,)
    asked = [*first, *(rule for rule in RULES if rule not in (NOT_TWICE, *of_two))]
    if len(set(recipe.block)) > (_MANY_BLOCKS_OF_TWO if recipe.reference_drawn else _MANY_BLOCKS):
        asked.remove(ORDERS_DIFFER)
    for rule in asked:
        rng = np.random.default_rng([recipe.seed, RULE_TRIALS])
        trial = replace(recipe, rules=(*rules, rule))
        share = len(mended(trial, _shuffled(trial, 200, rng), rng)) / 200
        if share >= _RULE_NEEDS:
            rules = trial.rules
        elif rule == REFERENCE_NEAR:
            raise OrderError(Fault("the reference cannot be kept that near", "plan, key field.reference_every",
                                   str(recipe.reference_every), do="Allow a longer stretch."))
    return rules


def _nothing_estimable(recipe: Recipe) -> OrderError:
    """Say that no order of these slots answers the question."""
    return OrderError(
        Fault(
            "no order of these blocks tells the asked candidates apart",
            "plan, section field",
            f"{len(recipe.block)} swaps in {len(set(recipe.block))} block(s), {recipe.places} place(s), "
            f"drift {recipe.drift!r}",
            do="Give it more blocks, larger blocks, fewer specimens or places, or a simpler form of drift.",
        )
    )
