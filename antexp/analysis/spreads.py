"""The scatters and the drift that a record shows, read off its fits."""

from __future__ import annotations

import math

import pandas as pd

from antexp.analysis.receiver_weights import within_swaps
from antexp.analysis.result import DriftSeen, Spread
from antexp.analysis.scopes import ScopedFit


def spread_seen(table: pd.DataFrame, these: ScopedFit, specimens: ScopedFit | None) -> Spread:
    """Read the scatters off the fits.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    these : ScopedFit
        The fit with every specimen a level of its own; it gives re-hanging and reading scatter.
    specimens : ScopedFit or None
        The fit with specimens as a random draw; it gives the scatter of specimens.
    """
    variances = these.fit.variances
    residual_sd = math.sqrt(these.fit.residual_variance)
    specimen = math.sqrt(specimens.fit.variances["specimen"]) if specimens is not None else None
    receiver = math.sqrt(variances["swap_receiver"]) if "swap_receiver" in variances else None
    if "swap" not in variances:
        return Spread(residual_sd, _within(table), specimen, None, receiver)
    return Spread(math.sqrt(variances["swap"]), residual_sd, specimen, None, receiver)


def _within(table: pd.DataFrame) -> float | None:
    """Return the scatter of readings within one swap and receiver, where there are several."""
    squares, spare = within_swaps(table)
    return math.sqrt(squares / spare) if spare > 0 else None


def drift_seen(these: ScopedFit, form: str) -> DriftSeen:
    """Read the slope and the curvature of every block off the fit."""
    lines: dict[str, float] = {}
    curves: dict[str, float] = {}
    for name, value in zip(these.record.model.columns, these.fit.coefficients, strict=True):
        if name.startswith("drift: ") and name.endswith(" line"):
            lines[name.removeprefix("drift: ").removesuffix(" line")] = float(value)
        elif name.startswith("drift: "):
            curves[name.removeprefix("drift: ").removesuffix(" curve")] = float(value)
    return DriftSeen(form, lines, curves)
