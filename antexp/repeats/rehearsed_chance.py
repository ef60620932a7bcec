"""The chance of a day, rehearsed: the closed form held against records that went through the code that judges."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd

from antexp.design.randomisation import Progress
from antexp.plan.model import Plan
from antexp.repeats.closed_form import Chances
from antexp.repeats.rehearsal import rehearse
from antexp.repeats.what_if import ModelledDay

# Records of a coarse meter are fitted one by one, a tenth of a second or more each: so many, within three points of a
# chance of 80 %.
_COARSE_RECORDS = 200
# A disagreement worth a warning: two points (method section 8) beyond three Monte Carlo errors.
TOLERANCE = 0.02


@dataclass(frozen=True)
class RehearsedChance:
    """A day rehearsed with every asked gap at matter_db.

    Attributes
    ----------
    records : int
    chance, chance_se : float
        The smallest share over the gaps at matter_db of records that noticed it, and its Monte Carlo error.
    chance_all, chance_all_se : float
        Share of records that noticed all gaps.
    any_missed, any_missed_se : float
        Share of records in which some interval misses its true gap.
    largest_difference : float
        Between the closed form and the rehearsal, over the gaps at matter_db.
    disagrees : bool
        Whether some difference is beyond two points and three Monte Carlo errors.
    table : DataFrame
        Of the rehearsal: see `antexp.repeats.rehearsal.Rehearsal`.
    """

    records: int
    chance: float
    chance_se: float
    chance_all: float
    chance_all_se: float
    any_missed: float
    any_missed_se: float
    largest_difference: float
    disagrees: bool
    table: pd.DataFrame

    def to_dict(self) -> dict[str, Any]:
        """Return the rehearsal as the JSON document holds it."""
        document = {name: value for name, value in asdict(self).items() if name != "table"}
        return {**document, "table": self.table.to_dict(orient="records")}


def rehearsed_chance(
    plan: Plan, day: ModelledDay, chances: Chances, *, records: int, seed: int, executor: Executor | None = None,
    progress: Progress | None = None,
) -> RehearsedChance:
    """Rehearse a day with every asked gap at matter_db and hold the closed form against it.

    Parameters
    ----------
    plan : Plan
        With `question.matter_db`.
    day : ModelledDay
    chances : Chances
        The closed form of the same day.
    records : int
    seed : int
    executor : concurrent.futures.Executor, optional
    progress : callable, optional

    Notes
    -----
    Against the reference all gaps are at matter_db at once; with each other the candidates lie matter_db apart in
    the order of the plan and only neighbours are counted; with ``best`` the candidate that the closed form finds
    hardest to tell another from lies matter_db above all others.
    """
    matter = plan.question.matter_db
    assert matter is not None
    compare = plan.question.compare
    names = (plan.reference, *plan.others)
    worst_pair = int(np.argmin(chances.gaps["chance"].to_numpy(float)))
    best = str(chances.gaps["against"].iloc[worst_pair]) if compare == "best" else None
    gaps = _gaps(names, compare, matter, best)
    some = min(records, _COARSE_RECORDS) if _is_coarse(plan) else records
    found = rehearse(plan, day.table, gaps, records=some, seed=seed, executor=executor, progress=progress)
    rows = found.table[np.isclose(found.table["true_gap_db"].abs(), matter)]
    rows = rows if compare != "best" else rows[rows["true_gap_db"] < 0]
    noticed, errors = rows["noticed"].to_numpy(float), rows["noticed_se"].to_numpy(float)
    worst = int(noticed.argmin())
    closed = _closed(rows, chances, best)
    difference = np.abs(noticed - closed)
    # all of some records, or none, is not known without error: as if half a record had gone the other way
    least = 0.5 / some
    off = difference > TOLERANCE + 3.0 * np.maximum(errors, least)
    return RehearsedChance(some, float(noticed[worst]), max(float(errors[worst]), least), found.all_noticed,
                           max(found.all_noticed_se, least), found.any_missed, max(found.any_missed_se, least),
                           float(difference.max()), bool(off.any()), found.table)


def _gaps(names: tuple[str, ...], compare: str, matter_db: float, best: str | None) -> dict[str, float]:
    """Return the true levels above the reference, the first named."""
    if compare == "best":
        level = {name: matter_db * (name == best) for name in names}
        return {name: level[name] - level[names[0]] for name in names[1:]}
    step = matter_db if compare == "each-other" else 0.0
    return {name: matter_db + step * place for place, name in enumerate(names[1:])}


def _closed(rows: pd.DataFrame, chances: Chances, best: str | None) -> np.ndarray:
    """Return the closed form's chance of each row; with ``best`` that of telling the candidate from the best."""
    gaps = chances.gaps
    known = {(a, b): chance for a, b, chance in zip(gaps["candidate"], gaps["against"], gaps["chance"], strict=True)}
    return np.array([known[candidate, best or against]
                     for candidate, against in zip(rows["candidate"], rows["against"], strict=True)])


def _is_coarse(plan: Plan) -> bool:
    """Tell whether the display is coarse beside the planned scatter of swap means, so that ranges are judged."""
    step = plan.meter.step_db
    if step is None:
        return False
    scatter = np.sqrt(plan.field.rehang_sd_db**2 + plan.meter.reading_sd_db**2 / plan.meter.readings)
    return bool(scatter < step)
