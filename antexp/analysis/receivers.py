"""Several receivers: do they see the same gaps? (method section 2)."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.receiver_weights import UNLIKE, fit_weighted, reading_scatter
from antexp.analysis.record_model import RecordModel, record_model, swap_means
from antexp.analysis.result import Receivers
from antexp.analysis.settings import Settings
from antexp.mixed.fit import RemlFit
from antexp.notices import Notice

_WORTH = 0.05
# Of the variance of all levels: less than this is rounding.
_NOTHING = 1e-12


def receivers_seen(
    table: pd.DataFrame, reference: str, pairs: list[tuple[str, str]], settings: Settings
) -> Receivers | None:
    """Fit each receiver its own gaps, and test whether they differ.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    reference : str
    pairs : list of (str, str)
        The asked gaps.
    settings : Settings

    Returns
    -------
    Receivers or None
        None with one receiver, or where too few swaps were read by two of them.

    Notes
    -----
    Receiver-by-block levels and slopes; candidate by receiver fixed; swap and swap-by-receiver random. The interaction
    is tested against swap-by-receiver by the scaled F of Kenward & Roger 1997. Where receivers' reading scatters are
    unlike, each reading has the weight of its receiver (`antexp.analysis.receiver_weights`).
    """
    names = list(dict.fromkeys(table["receiver"].astype(str)))
    if len(names) < 2:
        return None
    built = record_model(table, reference=reference, drift=_plain(settings.drift), average_receivers=False)
    receiver = built.rows["receiver"].astype(str).to_numpy()
    candidates = built.model.candidates
    inner = np.column_stack([
        ((receiver == name) & (built.rows["candidate"].astype(str) == candidate)).to_numpy(float)
        for name in names[1:] for candidate in candidates[1:]
    ])  # fmt: skip
    X = np.hstack([built.model.X, inner])
    k, p = len(candidates) - 1, built.model.X.shape[1]
    own = np.zeros((len(names) - 1, k, X.shape[1]))
    own[np.arange(len(names) - 1)[:, None], np.arange(k), p + np.arange(inner.shape[1]).reshape(-1, k)] = 1.0
    if not _scatters_within(built.rows["swap"], built.level_db, X):
        return None
    try:
        fit = fit_weighted(built.level_db, X, built.groups, built.weights, "error line")
        test = fit.joint_test(own.reshape(-1, X.shape[1]))
        rows = _rows(fit, built.model.gaps(pairs), own, names, pairs, candidates, settings)
    except ValueError:
        return None
    if not np.isfinite(test.p_value):
        return None
    return Receivers(test.p_value, pd.DataFrame(rows), reading_scatter(table))


def receivers_notices(seen: Receivers | None, record: RecordModel) -> list[Notice]:
    """Say where receivers disagree about the gaps, and where one scatters much more and what was done about it."""
    if seen is None:
        return []
    found = []
    if seen.p_value < _WORTH:
        text = (
            "The receivers do not see the same gaps: they differ by more than the scatter of a swap from receiver to "
            "receiver. A wire that is stronger in one place and weaker in another shows its pattern, or a "
            "receiver compresses; the gaps given are the mean over receivers, each receiver's own stand beside them."
        )
        found.append(Notice("receivers-disagree", text))
    scatter = {name: value for name, value in seen.reading_sd_db.items() if value}
    if len(scatter) > 1 and max(scatter.values()) > UNLIKE * min(scatter.values()):
        worst = max(scatter, key=lambda name: scatter[name])
        text = (
            f"Readings of receiver {worst} scatter {max(scatter.values()):.2f} dB, those of the steadiest "
            f"{min(scatter.values()):.2f} dB. {_what_was_done(record)} A look at that receiver is worth while."
        )
        found.append(Notice("receivers-scatter-unlike", text))
    return found


def _what_was_done(record: RecordModel) -> str:
    """Say what unlike reading scatters mean for the gaps."""
    if record.averaged_receivers > 1:
        return (
            "The gaps are those of the mean over receivers, in which each counts alike; judged without that receiver "
            "they may be sharper."
        )
    if record.weights is not None:
        return "Each reading counts by how steady its receiver is."
    return (
        "One reading scatter was taken for all, for there are too few readings to tell them apart or more than 500 "
        "swaps; the limits are wider than they need be."
    )


def _scatters_within(swap: pd.Series, level_db: NDArray[np.float64], X: NDArray[np.float64]) -> bool:
    """Tell whether swaps leave any scatter to hold gaps against; receivers that differ by constants alone do not."""
    codes = pd.factorize(swap)[0]
    both = np.column_stack([level_db, X])
    within = both - swap_means(codes, both)[codes]
    rest = within[:, 0] - within[:, 1:] @ np.linalg.lstsq(within[:, 1:], within[:, 0], rcond=None)[0]
    return bool(np.mean(rest**2) > _NOTHING * np.var(level_db))


def _plain(drift: str) -> str:
    """Return the form of drift that receivers are compared with; a walk is common to them and taken as a line."""
    return "steady" if drift == "wandering" else drift


def _contrasts(
    gaps: NDArray[np.float64], own: NDArray[np.float64] | None, pairs: list[tuple[str, str]],
    candidates: tuple[str, ...], width: int,
) -> NDArray[np.float64]:
    """Return the contrast rows of one receiver's gaps: the first one's, and what is its own on top."""
    L = np.zeros((len(pairs), width))
    L[:, : gaps.shape[1]] = gaps
    if own is None:
        return L
    for i, pair in enumerate(pairs):
        for side, candidate in zip((1.0, -1.0), pair, strict=True):
            place = candidates.index(candidate)
            if place > 0:
                L[i] += side * own[place - 1]
    return L


def _rows(
    fit: RemlFit, gaps: NDArray[np.float64], own: NDArray[np.float64], names: list[str], pairs: list[tuple[str, str]],
    candidates: tuple[str, ...], settings: Settings,
) -> list[dict[str, object]]:
    """Return each receiver's gaps with limits that hold for all of a receiver's gaps together."""
    rows: list[dict[str, object]] = []
    for r, name in enumerate(names):
        found = fit.contrasts(_contrasts(gaps, own[r - 1] if r > 0 else None, pairs, candidates, own.shape[2]))
        estimates = Estimates(tuple(pairs), found.estimates, found.covariance, found.degrees_of_freedom)
        limits = family_limits(estimates, settings.confidence, settings.chance)
        rows += [
            {"receiver": name, "candidate": pair[0], "against": pair[1], "gap_db": float(estimates.gap_db[i]),
             "standard_error_db": float(estimates.standard_error_db[i]),
             "interval_db": [float(limits.lower_db[i]), float(limits.upper_db[i])]}
            for i, pair in enumerate(pairs)
        ]  # fmt: skip
    return rows
