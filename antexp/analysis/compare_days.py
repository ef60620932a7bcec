"""Two judged experiments of the same wires side by side, and whether the new day agreed."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from antexp.analysis.comparisons import Estimates, family_limits
from antexp.analysis.result import Judgement
from antexp.analysis.results_file import read_results
from antexp.analysis.settings import matter_faults, share_faults
from antexp.errors import Fault, JudgementError
from antexp.json_text import JsonText
from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, REAL_TOO_SMALL, classify
from antexp.views import Viewable

AGREES = "agrees"
MOVED_LITTLE = "changed, too little to matter"
CHANGED = "changed"
OPEN = "cannot tell"

AGREEMENTS: dict[str, str] = {
    AGREES: "if the gap changed at all, it is by less than the gap that matters",
    MOVED_LITTLE: "the gap changed, by less than the gap that matters",
    CHANGED: "the gap of the two days is not the same",
    OPEN: "the two days together are too rough to say whether the gap changed",
}
"""What can be said of one gap on two days."""

Floats = NDArray[np.float64]

# Limits come with the change that such days would notice, which is not told here: any wanted chance does.
_ANY_CHANCE = 0.8


@dataclass(frozen=True, eq=False)
class DayComparison(JsonText, Viewable):
    """Two days side by side.

    Attributes
    ----------
    titles : tuple of str
        Of the earlier and the later day.
    against : str
        The wire all gaps are to, on both days.
    confidence : float
        Of all changes together.
    matter_db : float or None, dB
        The smallest change that matters.
    table : DataFrame, one row a wire
        ``candidate``; ``earlier_db, earlier_se_db, earlier_df, later_db, later_se_db, later_df`` (the gap on each day);
        ``change_db`` (later less earlier), ``standard_error_db``, ``degrees_of_freedom``, ``low_db``, ``high_db``
        (limits for all changes together), ``p_value``, ``p_adjusted``, ``agreement`` (one of `AGREEMENTS`).
    p_together : float
        How often days without any change differ by as much somewhere: the smallest of the adjusted p-values.
    only_earlier, only_later : tuple of str
        Wires that hung on one day alone.
    remarks : tuple of str
        What else may lie behind a change.
    """

    titles: tuple[str, str]
    against: str
    confidence: float
    matter_db: float | None
    table: pd.DataFrame
    p_together: float
    only_earlier: tuple[str, ...]
    only_later: tuple[str, ...]
    remarks: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the `compare` document; what is not finite becomes None."""
        rows = [{key: None if isinstance(value, float) and not math.isfinite(value) else value
                 for key, value in row.items()} for row in self.table.to_dict(orient="records")]
        return {"titles": list(self.titles), "against": self.against, "confidence": self.confidence,
                "matter_db": self.matter_db, "changes": rows,
                "p_together": self.p_together if math.isfinite(self.p_together) else None,
                "only_earlier": list(self.only_earlier), "only_later": list(self.only_later),
                "remarks": list(self.remarks)}


def compare_days(earlier: str | os.PathLike[str] | Judgement, later: str | os.PathLike[str] | Judgement, *,
                 matter_db: float | None = None, confidence: float | None = None) -> DayComparison:
    """Compare two judged experiments of the same wires.

    Parameters
    ----------
    earlier, later : path or Judgement
        Folders that ``judge -o`` wrote, results files, or judgements; judged against a reference or each other.
    matter_db : float, optional, dB
        Left out: the later day's, else the earlier day's.
    confidence : float, optional
        Of all changes together; left out: the later day's.

    Returns
    -------
    DayComparison

    Raises
    ------
    FileError, JudgementError
        When a file cannot be read, both are the same record, fewer than two wires hung on both days, or a day was
        judged against the best.

    Notes
    -----
    The records are independent, so the covariances of the gaps add; degrees of freedom by Welch and Satterthwaite
    (Satterthwaite 1946, Biometrics Bull. 2:110; Welch 1947, Biometrika 34:28), limits for all changes together by the
    multivariate t as within a day.
    """
    earlier = earlier if isinstance(earlier, Judgement) else read_results(earlier)
    later = later if isinstance(later, Judgement) else read_results(later)
    _check(earlier, later, matter_db, confidence)
    shared = [name for name in earlier.candidates if name in later.candidates]
    against = next((name for name in (earlier.reference, later.reference) if name in shared), shared[0])
    names = [name for name in shared if name != against]
    one, other = (_gaps(day, names, against) for day in (earlier, later))
    v1, v2 = np.diag(one.covariance_db2), np.diag(other.covariance_db2)
    df = (v1 + v2) ** 2 / (v1**2 / one.degrees_of_freedom + v2**2 / other.degrees_of_freedom)
    change = Estimates(one.pairs, other.gap_db - one.gap_db, one.covariance_db2 + other.covariance_db2, df)
    level = confidence if confidence is not None else later.confidence
    matter = next((each for each in (matter_db, later.matter_db, earlier.matter_db) if each is not None), None)
    limits = family_limits(change, level, _ANY_CHANCE)
    verdicts = classify(limits.lower_db, limits.upper_db, matter)
    table = pd.DataFrame({
        "candidate": names, "earlier_db": one.gap_db, "earlier_se_db": np.sqrt(v1),
        "earlier_df": one.degrees_of_freedom, "later_db": other.gap_db, "later_se_db": np.sqrt(v2),
        "later_df": other.degrees_of_freedom, "change_db": change.gap_db, "standard_error_db": change.standard_error_db,
        "degrees_of_freedom": df, "low_db": limits.lower_db, "high_db": limits.upper_db, "p_value": limits.p_value,
        "p_adjusted": limits.p_adjusted, "agreement": [_agreement(str(verdict)) for verdict in verdicts]})
    finite = limits.p_adjusted[np.isfinite(limits.p_adjusted)]
    return DayComparison(
        (earlier.title, later.title), against, level, matter, table, float(finite.min()) if len(finite) else math.nan,
        tuple(name for name in earlier.candidates if name not in later.candidates),
        tuple(name for name in later.candidates if name not in earlier.candidates), _remarks(earlier, later))


def _check(earlier: Judgement, later: Judgement, matter_db: float | None, confidence: float | None) -> None:
    """Refuse what cannot be compared; all faults at once."""
    faults = []
    digest = earlier.provenance.get("readings_sha256")
    if digest is not None and digest == later.provenance.get("readings_sha256"):
        faults.append(Fault("both judgements are of the same readings", got=f"digest {digest[:12]}…",
                            do="A record always agrees with itself; name another day's folder."))
    for word, day in (("earlier", earlier), ("later", later)):
        if day.compare == "best":
            faults.append(Fault(f"the {word} day was judged against the best of the others, which tells no gap between "
                                "two wires", day.title, do="Judge it again with --compare reference."))
    shared = set(earlier.candidates) & set(later.candidates)
    if len(shared) < 2:
        faults.append(Fault("fewer than two wires hung on both days", got=", ".join(sorted(shared)) or "none",
                            do="The same wire must have the same name on both days."))
    faults += [*matter_faults(matter_db), *share_faults("confidence", confidence)]
    if faults:
        raise JudgementError(faults)


def _gaps(day: Judgement, names: list[str], against: str) -> Estimates:
    """Return a day's gaps to one wire, with their joint covariance, whatever that day compared with."""
    rows = {(row["candidate"], row["against"]): row for row in day.family.to_dict(orient="records")}
    weights, freedom = np.zeros((len(names), len(day.gaps_covariance_of))), np.empty(len(names))
    place = {pair: column for column, pair in enumerate(day.gaps_covariance_of)}
    for i, name in enumerate(names):
        parts = _path(name, against, day.reference, place)
        for pair, sign in parts:
            weights[i, place[pair]] += sign
        # a gap put together of two has no degrees of freedom of its own here: the smaller of theirs is the careful one
        freedom[i] = min(float(rows[pair]["degrees_of_freedom"]) for pair, _ in parts)
    gaps = np.array([float(rows[pair]["gap_db"]) for pair in day.gaps_covariance_of])
    return Estimates(tuple((name, against) for name in names), weights @ gaps,
                     weights @ day.gaps_covariance_db2 @ weights.T, freedom)


def _path(name: str, against: str, reference: str, place: dict[tuple[str, str], int]
          ) -> list[tuple[tuple[str, str], float]]:
    """Write one gap as a sum of gaps that were judged."""
    for pair, sign in (((name, against), 1.0), ((against, name), -1.0)):
        if pair in place:
            return [(pair, sign)]
    parts = []
    for wire, sign in ((name, 1.0), (against, -1.0)):
        if wire != reference:
            parts.append(((wire, reference), sign) if (wire, reference) in place else ((reference, wire), -sign))
    return parts


def _agreement(verdict: str) -> str:
    """Translate the verdict on a change."""
    return {NO_GAP_THAT_MATTERS: AGREES, REAL_TOO_SMALL: MOVED_LITTLE, CANNOT_TELL: OPEN}.get(verdict, CHANGED)


def _remarks(earlier: Judgement, later: Judgement) -> tuple[str, ...]:
    """Say what may lie behind a change besides the wires."""
    said = ["A change can be the wires' (other specimens, other trim, a year of rust), the place's, or the band's and "
            "height's: the results do not tell which."]
    if any((day.family["scope"] == "these specimens").any() for day in (earlier, later)):
        said.append("The limits know nothing of how specimens differ: if other antennas hung than before, a change may "
                    "be theirs.")
    if earlier.confidence != later.confidence:
        said.append(f"The days were judged at {earlier.confidence:g} and {later.confidence:g}.")
    forms = {earlier.drift.form, later.drift.form}
    if len(forms) > 1:
        said.append(f"The days were judged with drift {earlier.drift.form} and {later.drift.form}.")
    return tuple(said)
