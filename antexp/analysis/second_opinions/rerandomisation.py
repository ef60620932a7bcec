"""The re-randomisation test: the draw of the order alone, no model of the scatter (method section 6)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from antexp.analysis.record_model import swap_means
from antexp.analysis.result import Opinion
from antexp.analysis.second_opinions.asked import Asked
from antexp.design.order_document import Order
from antexp.design.random_terms import group_numbers
from antexp.design.randomisation import redraw
from antexp.design.recipe import Recipe
from antexp.mixed.correlation import correlation_of
from antexp.mixed.multivariate_t import family_adjusted_p

METHOD = "re-randomisation of the swap order"
DRAWS = 9999
_TIE = 1e-9
_CHUNK = 1000

Floats = NDArray[np.float64]


def rerandomisation_opinion(asked: Asked, order: Order | None, draws: int = DRAWS) -> Opinion:
    """Redraw the order many times by its own rule and see how often chance does as much.

    Parameters
    ----------
    asked : Asked
    order : Order or None
        With its recipe.
    draws : int

    Notes
    -----
    Null: every specimen but the reference's would give the same level in the same slot. Levels stay in their slots,
    reference swaps stay; T = max |t| over the pairs without the reference; p = (1 + #{T* ≥ T})/(1 + draws). Gaps to the
    reference cannot be tested so: its slots are fixed. An order that differs in nothing but which name stands where
    gives the same T whatever the readings: where such orders are a large share of all, the test can say nothing.
    """
    if order is None or not order.recipe:
        return Opinion(METHOD, None, "Not made: it needs the order file with its recipe (--order).")
    recipe = Recipe.from_dict(order.recipe)
    slots = _slots(asked, order)
    if len(recipe.block) != len(order.table) or not set(order.table["candidate"].astype(str)) <= set(recipe.names):
        slots = "the recipe beside the order file is that of another order"
    if isinstance(slots, str):
        return Opinion(METHOD, None, f"Not comparable: {slots}.")
    codes = sorted(set(recipe.labels))
    if len(codes) < 2:
        alone = "beside the reference, whose slots are fixed, there is one candidate"
        return Opinion(METHOD, None, f"Not comparable: {alone}.")
    statistic = _Statistic(asked, len(recipe.names), codes)
    hung = np.array([recipe.names.index(str(name)) for name in order.table["candidate"]])[slots]
    seen = float(statistic.largest_t(hung[None, :])[0])
    parts = _redrawn(recipe, slots, draws)
    chance = np.concatenate([statistic.largest_t(part) for part in parts])
    p = (1 + int((chance >= seen - _TIE).sum())) / (1 + draws)
    least = (1 + sum(int(_same_but_for_names(part, hung).sum()) for part in parts)) / (1 + draws)
    model = statistic.model_p(hung, seen)
    numbers: dict[str, Any] = {"p_value": p, "least_p_value": least, "model_p_value": model, "largest_t": seen,
                               "draws": draws}
    alpha = 1.0 - asked.settings.confidence
    if least >= alpha:
        few = "Not comparable: so few orders keep the rules of this day, or of the part that is done,"
        return Opinion(METHOD, None, f"{few} that no readings could bring p below {least:.2g}.", numbers)
    what = "the gap" if 0 in codes else "some gap among the candidates beside the reference"
    text = f"p = {p:.2g} for {what}, the model says {f'{model:.2g}' if model >= 1e-4 else 'below 0.0001'}"
    blocks = len(set(recipe.block))
    if len(codes) == 2:
        text += f" (one pair in {blocks} blocks could not go below {2.0 ** (1 - blocks):.2g})"
    if 0 not in codes:
        text += "; gaps to the reference cannot be tested so, for its slots are fixed"
    if (p < alpha) == (model < alpha) or 0.5 * alpha < p < 2 * alpha:
        return Opinion(METHOD, True, f"{text}.", numbers)
    believe = (
        "Believe this one for whether there is a gap at all: it rests on the draw alone. Look at the residuals."
        if p > model
        else "Believe the judgement: it is the more cautious of the two here."
    )
    return Opinion(METHOD, False, f"{text}. {believe}", numbers)


def _slots(asked: Asked, order: Order) -> NDArray[np.intp] | str:
    """Return the order's slots that the record holds, in the record's order of swaps; or why there are none."""
    swaps = asked.these.record.rows.drop_duplicates("swap")
    place = {int(swap): i for i, swap in enumerate(order.table["swap"])}
    if not set(swaps["swap"].astype(int)) <= set(place):
        return "the record has swaps that the order does not know"
    slots = np.array([place[int(swap)] for swap in swaps["swap"]])
    planned = order.table["candidate"].astype(str).to_numpy()[slots]
    if (planned != swaps["candidate"].astype(str).to_numpy()).any():
        return "another wire hung than the order said, so the draw is not what decided"
    return slots


def _redrawn(recipe: Recipe, slots: NDArray[np.intp], draws: int) -> list[NDArray[np.intp]]:
    """Return redrawn candidates of the slots, in chunks."""
    labels = redraw(recipe, draws, seed=recipe.seed).labels[:, slots]
    return [labels[start : start + _CHUNK] for start in range(0, draws, _CHUNK)]


def _same_but_for_names(labels: NDArray[np.intp], hung: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Tell which redrawn orders, shape (d, n), have the order that hung, with names exchanged at most."""
    _, first, code = np.unique(hung, return_index=True, return_inverse=True)
    names = labels[:, first]
    apart = (np.diff(np.sort(names, axis=1), axis=1) > 0).all(axis=1)
    return np.asarray(apart & (labels == names[:, code]).all(axis=1))


class _Statistic:
    """The largest |t| over pairs of candidates for many assignments of the same levels at once."""

    def __init__(self, asked: Asked, names: int, drawn: list[int]) -> None:
        record = asked.these.record
        codes = group_numbers(record.rows, ["swap"])
        columns = np.concatenate([record.model.columns_of(kind) for kind in ("block", "place", "drift")])
        nuisance = swap_means(codes, record.model.X[:, columns])
        u, size, _ = np.linalg.svd(nuisance, full_matrices=False)
        self.basis = u[:, size > 1e-9 * size[0]]
        y = swap_means(codes, record.level_db)
        self.y = y - y.mean() - self.basis @ (self.basis.T @ (y - y.mean()))
        self.names = names
        self.pairs = np.array([(i, j) for i in drawn for j in drawn if i < j])
        self.left = len(y) - self.basis.shape[1] - (names - 1)

    def fitted(self, labels: NDArray[np.intp]) -> tuple[Floats, Floats, Floats]:
        """Return estimates (d, k), their unit covariance (d, k, k) and the residual mean square (d,)."""
        one_hot = (labels[:, None, :] == np.arange(1, self.names)[None, :, None]).astype(float)
        turned = one_hot @ self.basis
        gram = one_hot @ one_hot.transpose(0, 2, 1) - turned @ turned.transpose(0, 2, 1)
        right = one_hot @ self.y
        inverse = np.linalg.pinv(gram, rcond=1e-9, hermitian=True)
        beta = np.einsum("dij,dj->di", inverse, right)
        rss = float(self.y @ self.y) - np.einsum("di,di->d", beta, right)
        zero = np.zeros((len(labels), self.names))
        zero[:, 1:] = beta
        covariance = np.zeros((len(labels), self.names, self.names))
        covariance[:, 1:, 1:] = inverse
        return zero, covariance, np.maximum(rss, 1e-300) / self.left

    def largest_t(self, labels: NDArray[np.intp]) -> Floats:
        """Return the largest |t| of each assignment, shape (d,)."""
        beta, covariance, mean_square = self.fitted(labels)
        i, j = self.pairs.T
        unit = covariance[:, i, i] + covariance[:, j, j] - 2.0 * covariance[:, i, j]
        t = (beta[:, i] - beta[:, j]) / np.sqrt(np.maximum(unit, 1e-12) * mean_square[:, None])
        return np.asarray(np.abs(t).max(axis=1))

    def model_p(self, hung: NDArray[np.intp], seen: float) -> float:
        """Return what the model says of the largest |t|: the adjusted p of its pair."""
        _, covariance, _ = self.fitted(hung[None, :])
        L = np.zeros((len(self.pairs), self.names))
        L[np.arange(len(L)), self.pairs[:, 0]], L[np.arange(len(L)), self.pairs[:, 1]] = 1.0, -1.0
        correlation = correlation_of(L @ covariance[0] @ L.T)
        t = np.zeros(len(L))
        t[0] = seen
        return float(family_adjusted_p(t, correlation, np.full(len(L), float(self.left)), 2)[0])
