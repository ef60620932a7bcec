"""What many records of one design share, worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from antexp.mixed.arrays import Floats, Integers
from antexp.mixed.cross_products import cross_products
from antexp.mixed.error_line import MOSTLY_BETWEEN
from antexp.mixed.low_rank import LowRank
from antexp.mixed.many_contrasts import Asked, ask
from antexp.mixed.quiet_levels import SURELY
from antexp.mixed.spectrum import Spectrum, loadings_of, spectrum
from antexp.mixed.terms import Term, loadings_term
from antexp.mixed.unidentified import check_rows, check_terms


@dataclass(frozen=True)
class Means:
    """The same contrasts asked of the means over the levels of the finest term.

    Attributes
    ----------
    design : ManyDesign
        Of the level means, without the finest term.
    scale : ndarray, shape (q, n)
        Turns records into (weighted) level means.
    """

    design: ManyDesign
    scale: Floats

    def of(self, records: Floats) -> Floats:
        """Return the level means of records, shape (q, N)."""
        return self.scale @ records


@dataclass(frozen=True)
class ManyDesign:
    """A design with its contrasts, ready for records.

    Attributes
    ----------
    spectrum : Spectrum
    asked : Asked
    terms : tuple of str
        Random terms that are fitted, in the caller's order.
    names : tuple of str
        Every random term, in the caller's order.
    codes : ndarray of int, shape (n,)
        Levels of the finest term; empty for loadings.
    covariances : bool
        Whether covariances between contrasts are asked.
    unit : ndarray, shape (k,)
        1 / mean readings per level of each term.
    one_number : str
        The term that is one number with the reading noise; empty where there is none.
    error_line : bool
        The first term may be judged by its own mean square (M7).
    between : bool
        The first term is the finest and the fixed columns live between its levels.
    quiet : Means or None
        For records whose readings within a level do not scatter; None where the means cannot stand for them.
    weighted : Means or None
        For swaps at zero inside coarser terms above zero (M7).
    """

    spectrum: Spectrum
    asked: Asked
    terms: tuple[str, ...]
    names: tuple[str, ...]
    codes: Integers
    covariances: bool
    unit: Floats
    one_number: str
    error_line: bool
    between: bool
    quiet: Means | None
    weighted: Means | None

    @cached_property
    def low_rank(self) -> LowRank | None:
        """What records of a second term of low rank share; None where all terms are diagonal."""
        space = self.spectrum
        if space.low_rank is None:
            return None
        fine = space.finest
        return LowRank(space.free, fine, 1 - fine, space.weights[fine], space.low_rank, self.unit)


def prepare(
    X: Floats, terms: tuple[Term, ...], L: Floats, covariances: bool, ruled: bool | None = None
) -> ManyDesign | None:
    """Work out what many records share.

    Parameters
    ----------
    X : ndarray, shape (n, p)
    terms : tuple of Term
    L : ndarray, shape (m, p)
    covariances : bool
        Whether covariances between contrasts will be asked.
    ruled : bool or None
        Whether M7 may judge the first term; None: yes, unless a term is a set of loadings.

    Returns
    -------
    ManyDesign or None
        None where the terms have no common residual space (see `spectrum`).

    Raises
    ------
    ValueError
        As `fit_reml` and `RemlFit.contrasts`.
    """
    single = [term for term in terms if term.codes is not None and term.levels == X.shape[0]]
    if len(single) > 1:
        return None
    fitted = tuple(term for term in terms if term not in single) if single else terms
    space = spectrum(X, fitted)
    if space is None:
        return None
    check_terms(cross_products(np.zeros(X.shape[0]), X, fitted))
    check_rows(L, space.fixed)
    lengths = [loadings_of(t, X.shape[0]) for t in fitted]
    unit = np.array([z.shape[1] / max(float((z**2).sum()), 1e-300) for z in lengths])
    if ruled is None:
        ruled = bool(fitted) and fitted[0] is terms[0] and all(term.loadings is None for term in fitted)
    coarse = _coarse(fitted, lengths, space)
    codes = fitted[space.finest].codes if fitted else None
    return ManyDesign(
        space,
        ask(space, space.fixed.to_orthonormal(L), covariances),
        tuple(term.name for term in fitted),
        tuple(term.name for term in terms),
        codes if codes is not None else np.zeros(0, dtype=np.intp),
        covariances,
        unit,
        single[0].name if single else "",
        ruled,
        coarse and space.finest == 0 and _between(space),
        _means(X, fitted, lengths, space, L, covariances, ruled and space.finest != 0, 1.0) if coarse else None,
        _means(X, fitted, lengths, space, L, covariances, False, 0.5) if coarse and len(fitted) == 2 else None,
    )


def _coarse(terms: tuple[Term, ...], z: list[Floats], space: Spectrum) -> bool:
    """Tell whether the finest term is a set of codes within whose levels every other term is constant."""
    if not space.counts.size:
        return False
    own = z[space.finest]
    return all(
        np.abs(other - own @ ((own.T @ other) / space.counts[:, None])).max(initial=0.0) < 1e-9
        for i, other in enumerate(z)
        if i != space.finest
    )


def _between(space: Spectrum) -> bool:
    """Tell whether the fixed columns live between the levels of the finest term (see `error_line`)."""
    reach = space.reach[space.finest]
    share = np.linalg.eigvalsh((reach / space.counts[:, None]).T @ reach) if reach.shape[1] else np.ones(1)
    return float(share[0]) > 1.0 - MOSTLY_BETWEEN


def _with_what_is_known(scale: Floats, z: Floats, space: Spectrum) -> Floats:
    """Add to what turns records into level means what the fixed columns do within the levels, known exactly.

    As `antexp.mixed.quiet_levels` has it.
    """
    inside = space.columns - z @ ((z.T @ space.columns) / space.counts[:, None])
    values, vectors = np.linalg.eigh(inside.T @ inside)
    seen = values > 1e-9
    return np.vstack([scale, SURELY * (inside @ vectors[:, seen] / values[seen]).T])


def _means(
    X: Floats,
    terms: tuple[Term, ...],
    z: list[Floats],
    space: Spectrum,
    L: Floats,
    covariances: bool,
    ruled: bool,
    power: float,
) -> Means | None:
    """Prepare the level means, weighted by nᵢ (power ½) or equally (power 1)."""
    scale = (z[space.finest] / space.counts**power).T
    if not _between(space):
        scale = _with_what_is_known(scale, z[space.finest], space)
    others = tuple(
        loadings_term(term.name, scale @ z[i]) for i, term in enumerate(terms) if i != space.finest
    )
    columns = scale @ X
    if columns.shape[0] <= space.fixed.rank:
        return None
    design = prepare(columns, others, L, covariances, ruled)
    return None if design is None else Means(design, scale)
