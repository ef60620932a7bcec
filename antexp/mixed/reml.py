"""Fit a mixed model by restricted maximum likelihood: the door of the kernel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from antexp.mixed.arrays import Floats
from antexp.mixed.cross_products import CrossProducts, cross_products
from antexp.mixed.error_line import error_line_inference
from antexp.mixed.fit import RemlFit
from antexp.mixed.kenward_roger import Inference, infer
from antexp.mixed.level_columns import LevelColumns
from antexp.mixed.quiet_levels import effects_of_stages, quiet_stages
from antexp.mixed.restricted_likelihood import Projection, Reduced, residual_square
from antexp.mixed.search import maximise
from antexp.mixed.terms import Term, read_terms
from antexp.mixed.unidentified import UnidentifiedError, check_readings, check_terms

AtZero = Literal["error line", "keep", "drop"]

AT_ZERO = ("error line", "keep", "drop")

CONDITION_LIMIT = 1e10
"""Beyond it W⁻¹ does not carry a believable W (method page, section on zero)."""


def fit_reml(
    y: ArrayLike,
    X: ArrayLike | LevelColumns,
    groups: Mapping[str, ArrayLike],
    at_zero: AtZero = "error line",
    start: Mapping[str, float] | None = None,
) -> RemlFit:
    """Fit y = Xβ + Σ Zᵢuᵢ + e by restricted maximum likelihood.

    Parameters
    ----------
    y : array_like, shape (n,), dB
        Levels; any offset, it is taken off before sums are formed.
    X : array_like, shape (n, p), or LevelColumns
        Fixed columns; kept by level where a very large record has many of them. Columns that are sums of others are
        found and set aside (`RemlFit.aliased`).
    groups : mapping of str to array_like
        Random terms, nested or crossed: codes, shape (n,), or loadings, shape (n, q), as for a random walk.
        The first is the error line of the asked gaps.
    at_zero : {"error line", "keep", "drop"}
        What becomes of random terms that end at zero. ``"error line"``: the first is judged by its own mean square
        (M7), the others stay in W; ``"keep"``: all stay in W; ``"drop"``: all leave it. M7 is not used beside
        loadings.
    start : mapping of str to float, optional
        Where the search starts: variance of a random term over the reading variance, as `RemlFit.variance_ratios` of
        a similar record gives it. It saves time, as in leave-one-out refits, and leaves the answer the same within
        the search's own tolerance; so a term may be left out, and names of other terms are passed over. None: the
        best of a grid.

    Raises
    ------
    ValueError
        Shapes that do not fit, values that are not finite, an unknown rule, no reading left over by the fixed
        columns, a random term that the record cannot tell from the fixed columns or from another term, or a start
        that is negative or not finite.

    Notes
    -----
    M2, fitted from cross-products alone; M3–M7 for inference.
    """
    if at_zero not in AT_ZERO:
        raise ValueError(f"at_zero is unknown: got {at_zero!r}; allowed: {', '.join(AT_ZERO)}")
    if start is not None:
        _check_start(start)
    levels, columns = check_readings(y, X)
    terms = read_terms(groups, levels.size)
    products, terms, one_number = _collapse(levels, columns, terms)
    return fit_products(products, terms, at_zero, one_number, tuple(groups), start)


def _check_start(start: Mapping[str, float]) -> None:
    """Refuse a start that no variance could have."""
    bad = {name: value for name, value in start.items() if not 0.0 <= value < np.inf}
    if bad:
        got = ", ".join(f"{name!r}: {value}" for name, value in bad.items())
        raise ValueError(f"start must hold variance ratios, finite and at least 0: got {got}")


def _collapse(
    y: Floats, X: Floats | LevelColumns, terms: tuple[Term, ...]
) -> tuple[CrossProducts, tuple[Term, ...], tuple[str, ...]]:
    """Take out a term with one reading per level: its scatter and the reading's are one number."""
    single = [term for term in terms if term.codes is not None and term.levels == y.size]
    if len(single) > 1:
        names = " and ".join(repr(term.name) for term in single)
        raise UnidentifiedError(f"random terms {names} cannot be told apart: every level of each has one reading")
    if not single:
        return cross_products(y, X, terms), terms, ()
    rest = tuple(term for term in terms if term is not single[0])
    return cross_products(y, X, rest), rest, (single[0].name, "reading")


def fit_products(
    products: CrossProducts,
    terms: tuple[Term, ...],
    at_zero: AtZero,
    one_number: tuple[str, ...],
    order: tuple[str, ...],
    start: Mapping[str, float] | None = None,
) -> RemlFit:
    """Fit from finished cross-products.

    Parameters
    ----------
    products : CrossProducts
    terms : tuple of Term
        Those in `products`.
    at_zero : {"error line", "keep", "drop"}
    one_number : tuple of str
        A term that is one number with the reading noise, and ``"reading"``.
    order : tuple of str
        Every term's name in the caller's order.
    start : mapping of str to float, optional
        As in `fit_reml`.
    """
    check_terms(products)
    stages, fitted = quiet_stages(products)
    quiet = [stage.names[stage.eliminated] for stage in stages]
    at, projection, history = maximise(fitted, start)
    error_line = bool(order) and fitted.names[:1] == order[:1]
    loadings = any(term.loadings is not None for term in terms)
    inference, ruled = _inference(fitted, at, projection, at_zero, error_line and not loadings)
    sigma2 = at.quadratic / (fitted.readings - fitted.rank) if residual_square(fitted) > 0 else 0.0
    found = {name: float(g * sigma2) for name, g in zip(fitted.names, at.gamma, strict=True)}
    residual = float(sigma2)
    if quiet:  # the coarsest that was taken out has all the scatter that is left
        found |= dict.fromkeys(quiet, 0.0) | {quiet[-1]: residual}
        residual = 0.0
    if one_number:
        found[one_number[0]], residual = residual, float("nan")
    beta = _coefficients(fitted, at) + fitted.level
    why_not = _why_not(sigma2, inference)
    sizes = {term.name: term.levels for term in terms}
    if one_number:
        sizes[one_number[0]] = products.readings
    return RemlFit(
        coefficients=products.fixed.to_coefficients(beta),
        variances={name: found[name] for name in order},
        residual_variance=residual,
        restricted_log_likelihood=float("nan") if quiet else _log_likelihood(fitted, at),
        covariance=products.fixed.to_covariance(inference.adjusted),
        at_zero=history.at_zero,
        error_line_rule=ruled,
        one_number=one_number,
        on_means=quiet[-1] if quiet else "",
        no_interval=why_not,
        information_condition=inference.condition,
        readings=products.readings,
        rank=products.rank,
        levels={name: sizes[name] for name in order},
        random_effects=_random_effects(products, stages, fitted, at, projection, beta, order),
        history=history,
        _fixed=products.fixed,
        _beta=beta,
        _inference=inference,
    )


def _inference(
    products: CrossProducts, at: Reduced, projection: Projection, at_zero: AtZero, ruled: bool
) -> tuple[Inference, bool]:
    """Judge by the rule that was asked for; tell whether M7 did it."""
    if at_zero == "error line" and ruled and at.gamma.size and at.gamma[0] == 0.0:
        inference = error_line_inference(products, at, projection)
        if inference is not None:
            return inference, True
    keep = at.gamma > 0 if at_zero == "drop" else np.ones(at.gamma.size, dtype=bool)
    return infer(products, at.gamma, keep), False


def _coefficients(products: CrossProducts, at: Reduced) -> Floats:
    """Return β̂ on the orthonormal columns, (XᵀH⁻¹X)⁻¹XᵀH⁻¹y."""
    r, width = products.rank, products.gram.shape[0] - 1
    scale = np.concatenate([np.ones(r), at.root_gamma])
    system = at.gram[:width, :width] * np.outer(scale, scale)
    system[range(r, width), range(r, width)] += 1.0
    return np.asarray(np.linalg.solve(system, scale * at.gram[:width, width])[:r])


def _log_likelihood(products: CrossProducts, at: Reduced) -> float:
    """Return the restricted log-likelihood that does not depend on how X is coded."""
    free = products.readings - products.rank
    if at.quadratic <= 0:
        return float("nan")
    return -0.5 * (free * (np.log(2.0 * np.pi) + 1.0 - np.log(free)) + at.deviance)


def _random_effects(
    products: CrossProducts,
    stages: list[CrossProducts],
    fitted: CrossProducts,
    at: Reduced,
    projection: Projection,
    beta: Floats,
    order: tuple[str, ...],
) -> dict[str, Floats]:
    """Predict the effects, γᵢZᵢᵀPy; of terms that were taken out for their level means, what the means leave over."""
    effects = {n: g * w for n, g, w in zip(fitted.names, at.gamma, projection.scores, strict=True)}
    effects = effects_of_stages(stages, beta, effects)
    return {name: effects.get(name, np.full(products.readings, np.nan)) for name in order}


def _why_not(sigma2: float, inference: Inference) -> str:
    """Say why this fit should give no interval."""
    if not sigma2 > 0:
        return "the levels do not scatter at all about the fixed part"
    if inference.condition > CONDITION_LIMIT:
        return f"the variances cannot be told apart (condition of W⁻¹ {inference.condition:.1g})"
    return ""
