"""The pilot: whether the set-up is fit to compare anything, and how much it scatters and drifts."""

from __future__ import annotations

import os

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from antexp.analysis.pilot_result import DECIDED_BY, GO, Pilot, Slope
from antexp.analysis.setup_checks import SetupCheck, setup_checks
from antexp.analysis.variance_limits import ScatterEstimate, plain_scatter, scatter_behind_means
from antexp.decibels import rounded_up_db
from antexp.design.drift_columns import drift_columns
from antexp.design.setup_test import HANG, SETUP_STEPS, STILL
from antexp.errors import Fault, JudgementError
from antexp.field.readings import read_readings
from antexp.plan.model import Plan
from antexp.plan.reader import as_plan

CONFIDENCE = 0.95
_STEPS = {step.name for step in SETUP_STEPS}


def judge_pilot(readings: str | os.PathLike[str] | pd.DataFrame,
                plan: str | os.PathLike[str] | Plan | None = None) -> Pilot:
    """Judge a pilot: the set-up test and the re-hangings of the reference alone.

    Parameters
    ----------
    readings : path-like or DataFrame
        A readings file with ``step`` (a name of `antexp.design.setup_test`; blank or ``hang`` for re-hangings) and
        ``attenuator_db`` where an attenuator was used; without ``step`` all rows are re-hangings.
    plan : path or Plan, optional
        Says the meter's scale and step, and what scatter was planned.

    Returns
    -------
    Pilot

    Raises
    ------
    FileError, PlanError, ReadingsError, JudgementError
        When the readings or the plan cannot be trusted, a step is unknown, several antennas hang, or fewer than three
        hangings are left.
    """
    plan = None if plan is None else as_plan(plan)
    record = read_readings(readings, plan)
    table = _with_steps(record.table)
    hung = table[table["step"] == HANG]
    _check(table, hung)
    means, residual, drift = _hangings(hung, "steady" if plan is None else plan.field.drift)
    within = _within(hung)
    still, still_drift = _still(table[table["step"] == STILL])
    reading = plain_scatter(*within, CONFIDENCE) if within is not None else still
    rehang = _rehang(means, residual, within if within is not None else _square(still))
    scatter = reading if reading is not None else rehang
    checks = setup_checks(table, scatter.sd_db, scatter.degrees_of_freedom, record.step_db)
    return Pilot(
        verdict=_verdict(checks),
        checks=checks,
        rehang=rehang,
        reading=reading,
        still=still,
        drift=drift,
        still_drift=still_drift,
        hangings=len(means),
        readings=len(hung),
        remarks=_remarks(plan, rehang, reading, within, still),
    )


def _with_steps(table: pd.DataFrame) -> pd.DataFrame:
    """Return the readings with a step in every row."""
    step = table["step"].astype(str).str.strip().str.lower() if "step" in table else pd.Series("", index=table.index)
    return table.assign(step=step.replace({"": HANG, "nan": HANG}))


def _check(table: pd.DataFrame, hung: pd.DataFrame) -> None:
    """Refuse what is not a pilot."""
    faults = []
    unknown = sorted(set(table["step"]) - _STEPS)
    if unknown:
        faults.append(Fault("a step is not known", "readings, column step", ", ".join(unknown),
                            ", ".join(sorted(_STEPS)) + ", or blank"))
    antennas = table[["candidate", "specimen"]].drop_duplicates()
    if len(antennas) > 1:
        names = ", ".join(f"{name} / {label}" for name, label in antennas.itertuples(index=False))
        faults.append(Fault("a pilot hangs one antenna only", "readings, columns candidate and specimen", names,
                            "one specimen of the reference", "To compare antennas, use antexp judge."))
    if hung["swap"].nunique() < 3:
        faults.append(Fault("too few hangings to show a scatter", "readings, column swap",
                            f"{hung['swap'].nunique()}", "3 or more; 6 is common practice"))
    if table["level_db"].isna().any():
        faults.append(Fault("the pilot needs levels, not ranges", "readings, columns level_low_db and level_high_db"))
    if faults:
        raise JudgementError(faults)


Square = tuple[float, float]
"""A mean square, dB², and its degrees of freedom."""


def _hangings(hung: pd.DataFrame, drift: str) -> tuple[pd.DataFrame, Square, Slope | None]:
    """Return the swap means, their mean square about the drift of each block, and the drift itself."""
    grouped = hung.groupby("swap", sort=True)
    means = grouped.agg(block=("block", "first"), minutes=("minutes", "mean"), level_db=("level_db", "mean"),
                        readings=("level_db", "size")).reset_index()
    block = means["block"].to_numpy(object)
    columns, _, _ = drift_columns(block, means["minutes"].to_numpy(float), means["swap"].to_numpy(object), drift)
    X = np.column_stack([*(block == label for label in dict.fromkeys(block)), columns]).astype(float)
    left = len(means) - X.shape[1]
    if left < 1:
        raise JudgementError(Fault("too few hangings for the planned drift", "readings, column swap",
                                   f"{len(means)} hangings for {X.shape[1]} terms", f"{X.shape[1] + 1} or more"))
    y = means["level_db"].to_numpy(float)
    beta, _, _, _ = np.linalg.lstsq(X, y, rcond=None)
    square = float(np.sum((y - X @ beta) ** 2)) / left
    slope = None
    if columns.shape[1] and len(set(block)) == 1:
        error = np.sqrt(square * np.linalg.inv(X.T @ X)[1, 1])
        slope = _slope(float(beta[1]), float(error), left)
    return means, (square, float(left)), slope


def _within(hung: pd.DataFrame) -> Square | None:
    """Return the mean square of readings within their swap; None where every swap has one."""
    left = len(hung) - hung["swap"].nunique()
    if left < 1:
        return None
    residual = hung["level_db"] - hung.groupby("swap")["level_db"].transform("mean")
    return float((residual**2).sum()) / left, float(left)


def _still(rows: pd.DataFrame) -> tuple[ScatterEstimate | None, Slope | None]:
    """Return scatter about a line and slope of the hold-still readings."""
    if len(rows) < 5 or rows["minutes"].nunique() < 3:
        return None, None
    hours = (rows["minutes"].to_numpy(float) - rows["minutes"].mean()) / 60.0
    y: NDArray[np.float64] = rows["level_db"].to_numpy(float)
    slope = float(hours @ y / (hours @ hours))
    square = float(np.sum((y - y.mean() - slope * hours) ** 2)) / (len(y) - 2)
    error = float(np.sqrt(square / (hours @ hours)))
    return plain_scatter(square, float(len(y) - 2), CONFIDENCE), _slope(slope, error, len(y) - 2)


def _slope(slope: float, error: float, left: int) -> Slope:
    """Return a slope with t limits."""
    half = float(stats.t.ppf((1 + CONFIDENCE) / 2, left)) * error
    return Slope(slope, slope - half, slope + half, float(left))


def _square(still: ScatterEstimate | None) -> Square | None:
    """Return the mean square behind a plain scatter."""
    return None if still is None else (still.sd_db**2, still.degrees_of_freedom)


def _rehang(means: pd.DataFrame, residual: Square, within: Square | None) -> ScatterEstimate:
    """Return the scatter between hangings, freed of the reading scatter where that is known."""
    if within is None:
        return plain_scatter(*residual, CONFIDENCE)
    harmonic = len(means) / float((1 / means["readings"]).sum())
    return scatter_behind_means(*residual, *within, harmonic, CONFIDENCE)


def _verdict(checks: tuple[SetupCheck, ...]) -> str:
    """Return go, or what stands in its way."""
    found = {check.status for check in checks}
    return next((verdict for verdict, status in DECIDED_BY.items() if status in found), GO)


def _remarks(
    plan: Plan | None, rehang: ScatterEstimate, reading: ScatterEstimate | None, within: Square | None,
    still: ScatterEstimate | None,
) -> tuple[str, ...]:
    """Say what is worth knowing about the spreads."""
    said = []
    if reading is None:
        said.append("One reading a swap and no hold-still: re-hanging scatter and reading scatter are one number here.")
    if rehang.sd_db == 0.0:
        said.append("The hangings scatter no more than the readings do: more readings a swap, or more hangings, would "
                    f"show how little; it may still be up to {rounded_up_db(rehang.high_db):.2f} dB.")
    if within is not None and still is not None:
        ratio = still.sd_db**2 / within[0] if within[0] > 0 else np.inf
        if stats.f.sf(ratio, still.degrees_of_freedom, within[1]) < 0.025:
            said.append("While it stands still the level moves more than readings in a "
                        "row do: the path wanders. Consider drift = \"curved\" or \"wandering\", and the reference "
                        "more often.")
    if plan is not None and rehang.low_db > plan.field.rehang_sd_db:
        said.append(f"Hangings scatter more than the {plan.field.rehang_sd_db:g} dB of the plan: put the new number "
                    "in, and ask antexp repeats again.")
    return tuple(said)
