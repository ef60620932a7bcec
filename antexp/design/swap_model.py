"""The model of a swap experiment (M1) as columns, for planned orders and for records alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.design.drift_columns import drift_columns
from antexp.plan.words import DRIFTS


@dataclass(frozen=True)
class SwapModel:
    """M1 as a matrix: block intercepts, candidates (or specimens), places, drift.

    Attributes
    ----------
    X : ndarray, shape (n, p)
        Fixed columns, one row a reading (or a swap).
    columns : tuple of str, length p
        A readable name for each column.
    candidates : tuple of str, length k
        The candidates that occur, the reference first.
    levels : ndarray, shape (k, p)
        Row i picks candidate i's level above the origin: with specimens fixed, the equal-weight mean of its own.
    drift_forms : dict of str to str
        The form of drift each block carries after the small-block rule.
    specimens : tuple of (str, str)
        The (candidate, specimen) pairs that occur, in the order of first mention within a candidate.
    """

    X: NDArray[np.float64]
    columns: tuple[str, ...]
    candidates: tuple[str, ...]
    levels: NDArray[np.float64]
    drift_forms: dict[str, str]
    specimens: tuple[tuple[str, str], ...]

    def gap(self, candidate: str, against: str) -> NDArray[np.float64]:
        """Return the contrast row of one gap; positive means the first named is stronger.

        Parameters
        ----------
        candidate, against : str
            Two of `candidates`.

        Returns
        -------
        ndarray, shape (p,)
        """
        return self.levels[self.candidates.index(candidate)] - self.levels[self.candidates.index(against)]

    def gaps(self, pairs: list[tuple[str, str]]) -> NDArray[np.float64]:
        """Return the contrast rows of several gaps, shape (m, p)."""
        return np.array([self.gap(candidate, against) for candidate, against in pairs]).reshape(-1, self.X.shape[1])

    def columns_of(self, kind: str) -> NDArray[np.intp]:
        """Return the positions of the columns of one kind: ``"block"``, ``"place"`` or ``"drift"``."""
        return np.array([i for i, name in enumerate(self.columns) if name.startswith(f"{kind}: ")], dtype=np.intp)


def swap_model(
    candidate: object,
    block: object,
    minutes: object,
    *,
    reference: str | None = None,
    drift: str = "steady",
    swap: object | None = None,
    specimen: object | None = None,
    place: object | None = None,
    specimens_fixed: bool = False,
) -> SwapModel:
    """Write M1 as columns.

    Parameters
    ----------
    candidate, block : array_like of str, shape (n,)
        Labels of each row.
    minutes : array_like, shape (n,), minutes
        Time within the block.
    reference : str, optional
        The candidate listed first; left out: the first that occurs.
    drift : {"none", "steady", "curved", "wandering"}
        Declared form. A wandering path carries a line here; its walk is a random term.
    swap : array_like, shape (n,), optional
        Swap of each row, where rows are readings; left out: every row is a swap.
    specimen : array_like of str, shape (n,), optional
        Specimen labels within their candidate; left out: one specimen each.
    place : array_like of str, shape (n,), optional
        Labels of the supports; one place adds no column.
    specimens_fixed : bool
        True: every specimen has its own column and a candidate is the mean of its own (scope ``these specimens``).

    Returns
    -------
    SwapModel
        `X` may be short of rank; `antexp.design.estimable` says so in words.

    Raises
    ------
    ValueError
        When the form of drift is not one of the four.
    """
    if drift not in DRIFTS:
        raise ValueError(f"drift form unknown: got {drift!r}; allowed: {', '.join(DRIFTS)}")
    frame = pd.DataFrame({"candidate": _text(candidate), "block": _text(block)})
    frame["minutes"] = np.asarray(minutes, float)
    frame["specimen"] = _text(specimen) if specimen is not None else "1"
    frame["place"] = _text(place) if place is not None else "1"
    swaps = np.arange(len(frame)).astype(object) if swap is None else _text(swap)
    candidates = _reference_first(list(dict.fromkeys(frame["candidate"])), reference)
    specimens = _specimens(frame, candidates)
    units: list[tuple[str, str | None]] = [*specimens] if specimens_fixed else [(name, None) for name in candidates]
    parts = [_indicators(frame["block"], "block"), _unit_columns(frame, units)]
    places = _indicators(frame["place"], "place")
    parts.append((places[0][:, 1:], places[1][1:]))
    lines, names, forms = drift_columns(frame["block"].to_numpy(), frame["minutes"].to_numpy(), swaps, drift)
    parts.append((lines, names))
    X = np.hstack([columns for columns, _ in parts])
    levels = _levels(candidates, units, first=parts[0][0].shape[1], width=X.shape[1])
    names = tuple(name for _, part in parts for name in part)
    return SwapModel(X, names, tuple(candidates), levels, forms, tuple(specimens))


def _text(labels: object) -> NDArray[np.object_]:
    """Return labels as an object array of str."""
    return np.asarray(labels).astype(str).astype(object)


def _reference_first(candidates: list[str], reference: str | None) -> list[str]:
    """Put the reference at the head, where it occurs."""
    if reference is None or reference not in candidates:
        return candidates
    return [reference, *(name for name in candidates if name != reference)]


def _specimens(frame: pd.DataFrame, candidates: list[str]) -> list[tuple[str, str]]:
    """List the (candidate, specimen) pairs, candidate by candidate."""
    pairs = frame[["candidate", "specimen"]].drop_duplicates()
    return [(name, label) for name in candidates for label in pairs.loc[pairs["candidate"] == name, "specimen"]]


def _indicators(labels: pd.Series, kind: str) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return one indicator column a label, in order of first mention."""
    codes, values = pd.factorize(labels)
    columns = np.zeros((len(codes), len(values)))
    columns[np.arange(len(codes)), codes] = 1.0
    return columns, tuple(f"{kind}: {value}" for value in values)


def _unit_columns(
    frame: pd.DataFrame, units: list[tuple[str, str | None]]
) -> tuple[NDArray[np.float64], tuple[str, ...]]:
    """Return the columns of candidates or specimens, all but the first, which the block intercepts carry."""
    columns = [
        (frame["candidate"] == name) & ((frame["specimen"] == label) if label is not None else True)
        for name, label in units[1:]
    ]
    names = tuple(f"candidate: {name}" if label is None else f"specimen: {name} / {label}" for name, label in units[1:])
    stacked = np.column_stack(columns).astype(float) if columns else np.empty((len(frame), 0))
    return stacked, names


def _levels(
    candidates: list[str], units: list[tuple[str, str | None]], first: int, width: int
) -> NDArray[np.float64]:
    """Return the rows that pick a candidate's level: the equal-weight mean of its own units."""
    levels = np.zeros((len(candidates), width))
    for row, name in enumerate(candidates):
        own = [i for i, (unit, _) in enumerate(units) if unit == name]
        for i in own:
            if i > 0:
                levels[row, first + i - 1] = 1.0 / len(own)
    return levels
