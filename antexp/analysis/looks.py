"""Looking before the end: which look this is, and at what level its limits stand (method section 10)."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from antexp.analysis.settings import Settings
from antexp.design.order_document import Order
from antexp.design.planned_looks import end_confidence, look_alphas, planned_stops
from antexp.errors import FileError
from antexp.field.record import Record
from antexp.files import read_text, write_whole
from antexp.mixed.verdict import CANNOT_TELL
from antexp.notices import Notice
from antexp.plan.model import Plan


@dataclass(frozen=True)
class Look:
    """How far the experiment has come.

    Attributes
    ----------
    done, planned : int
        Complete blocks, and blocks in all.
    stops : tuple of int
        Blocks after which a look is planned, the end included.
    alpha : float
        What this look may spend; the whole error where no look was planned.
    is_planned : bool
        Whether this is the end, or a look that the plan names.
    earlier : int
        Unplanned looks at other states of this record, from the log beside it.
    """

    done: int
    planned: int
    stops: tuple[int, ...]
    alpha: float
    is_planned: bool
    earlier: int

    @property
    def at_end(self) -> bool:
        """Whether all planned blocks are done."""
        return self.done >= self.planned

    def to_dict(self) -> dict[str, object]:
        """Return the look as the results file holds it."""
        return {
            "blocks_done": self.done,
            "blocks_planned": self.planned,
            "planned_stops": list(self.stops),
            "planned": self.is_planned,
            "limits_confidence": 1.0 - self.alpha,
            "unplanned_looks_before": self.earlier,
        }

    def settings(self, settings: Settings) -> Settings:
        """Return the settings with this look's level, and that of the end."""
        end = end_confidence(self.stops, self.planned, settings.confidence)
        return replace(settings, confidence=1.0 - self.alpha, end_confidence=end)

    def gaps(self, gaps: pd.DataFrame, alpha: float) -> pd.DataFrame:
        """Return the gaps with adjusted p-values that allow for all planned looks."""
        if self.alpha == alpha:
            return gaps
        return gaps.assign(p_adjusted=(gaps["p_adjusted"].astype(float) * (alpha / self.alpha)).clip(upper=1.0))

    def notices(self, gaps: pd.DataFrame) -> list[Notice]:
        """Say which look this is, whether to go on, and what stopping now would mean."""
        found = []
        if self.at_end:
            if len(self.stops) > 1:
                found.append(Notice("planned-look", f"{self._which()} This is the last one."))
        elif self.is_planned:
            found.append(Notice("planned-look", f"{self._which()} {self._go_on(gaps)}"))
        else:
            text = (
                f"This is a look at a part-filled record: {self.done} of {self.planned} planned blocks are complete, "
                f"and no look was planned here. {self._go_on(gaps)} Stopping because of what this look shows would "
                "make the stated confidence too good; may_stop_after in the plan makes looks that do not."
            )
            found.append(Notice("unplanned-look", text))
        if self.done > self.planned:
            found.append(Notice("longer-than-planned", self._longer()))
        if self.earlier:
            text = (
                f"This record was looked at {self.earlier} time{'s' if self.earlier > 1 else ''} before without a plan "
                "for it. If any of these looks could have ended the experiment, the stated confidence is too good: "
                "with several looks false alarms of 9 to 12 in 100 instead of 5 were seen in trials."
            )
            found.append(Notice("looks-counted", text))
        return found

    def _longer(self) -> str:
        """Say what blocks beyond the planned ones mean."""
        return (
            f"The record holds {self.done} blocks; {self.planned} were planned. If the last were hung because the "
            f"first {self.planned} had been judged and left something open, the stated confidence is too good: with "
            "one such judgement before, false alarms of 7 in 100 instead of 5 were seen in a trial, with three 9.6. If "
            "nobody had seen a judgement before, it holds."
        )

    def _which(self) -> str:
        """Say which planned look this is."""
        number = self.stops.index(min(self.done, self.planned)) + 1
        return (
            f"This is look {number} of {len(self.stops)} planned, after {self.done} of {self.planned} blocks. Its "
            f"limits stand at {100 * (1 - self.alpha):.2f} %, so that all looks together keep the stated confidence; "
            "what it calls real may be taken as real whether or not you stop."
        )

    def _go_on(self, gaps: pd.DataFrame) -> str:
        """Say whether to go on, and how many blocks more."""
        rows = gaps[gaps["counts"]]
        waiting = rows[rows["verdict"] == CANNOT_TELL]
        left = self.planned - self.done
        if waiting.empty and not self.is_planned:
            return "Every gap looks settled; go on as planned all the same."
        if waiting.empty:
            return "Every gap is settled: you may stop here, or go on for narrower limits."
        needed = [int(blocks) for blocks in waiting["more_blocks"] if blocks is not None and blocks == blocks]
        count = f"{len(waiting)} of {len(rows)} gaps cannot be told yet"
        if len(needed) == len(waiting) and max(needed) <= left:
            return f"Go on: {count}; about {max(needed)} of the {left} blocks to come would settle them."
        if needed:
            return (
                f"Go on if you can: {count}; the {left} blocks to come may not settle all of them "
                f"({'at least ' if len(needed) < len(waiting) else 'about '}{max(needed)} more would be needed). "
                "Stopping now leaves them open."
            )
        return f"{count}, and no number of blocks in sight would settle them; stopping now loses little."


def look_of(record: Record, plan: Plan | None, order: Order | None, alpha: float) -> Look | None:
    """Tell which look a record is.

    Parameters
    ----------
    record : Record
    plan : Plan or None
        Its `may_stop_after` names the planned looks.
    order : Order or None
        Tells which blocks are complete.
    alpha : float
        Error of the whole experiment.

    Returns
    -------
    Look or None
        None when nobody said how many blocks there are to be.
    """
    planned = order.blocks if order is not None else plan.field.blocks if plan is not None else None
    if planned is None:
        return None
    done = _complete_blocks(record, order)
    earlier = _looks_before(record)
    stops = planned_stops(plan.field.may_stop_after if plan is not None else (), planned)
    now = min(done, planned)
    if now not in stops:
        return Look(done, planned, stops, alpha, False, earlier)
    return Look(done, planned, stops, float(look_alphas(stops, alpha)[stops.index(now)]), True, earlier)


def look_log(readings: Path) -> Path:
    """Return the log of looks that stands beside a readings file."""
    return readings.with_name(f"{readings.stem}.looks.json")


def log_look(record_path: str, sha256: str, look: Look) -> None:
    """Note an unplanned look in the log beside the record; the record itself is never written to.

    Parameters
    ----------
    record_path : str
    sha256 : str
        Of the readings: the same readings judged again are the same look.
    look : Look

    Notes
    -----
    Where the folder cannot be written to, nothing is noted.
    """
    if look.is_planned:
        return
    path = look_log(Path(record_path))
    seen = _read_log(path)
    if any(entry.get("readings_sha256") == sha256 for entry in seen):
        return
    seen.append({"readings_sha256": sha256, "blocks_done": look.done, "blocks_planned": look.planned})
    try:
        write_whole(path, json.dumps({"looks": seen}, indent=1) + "\n")
    except FileError:
        return


def _looks_before(record: Record) -> int:
    """Count unplanned looks at other states of the record."""
    if record.path is None:
        return 0
    return sum(entry.get("readings_sha256") != record.sha256 for entry in _read_log(look_log(Path(record.path))))


def _read_log(path: Path) -> list[dict[str, object]]:
    """Read the log; one that cannot be read counts as empty."""
    if not path.is_file():
        return []
    try:
        found = json.loads(read_text(path, "log of looks"))
    except (ValueError, RecursionError):  # FileError is a ValueError, and so is a number of 5000 digits
        return []
    looks = found.get("looks", []) if isinstance(found, dict) else []
    return [entry for entry in looks if isinstance(entry, dict)] if isinstance(looks, list) else []


def _complete_blocks(record: Record, order: Order | None) -> int:
    """Count blocks that are complete: all swaps in, or a later block begun (a block may end early)."""
    if order is None:
        return int(record.table["block"].nunique())
    swaps = set(record.table["swap"].astype(int))
    if len(record.left_out) and "swap" in record.left_out:
        swaps |= set(pd.to_numeric(record.left_out["swap"], errors="coerce").dropna().astype(int))
    begun = [
        (number, set(inside["swap"].astype(int)) <= swaps)
        for number, (_, inside) in enumerate(order.table.groupby("block", sort=False), start=1)
        if set(inside["swap"].astype(int)) & swaps
    ]
    if not begun:
        return int(record.table["block"].nunique())
    last, whole = begun[-1]
    return last if whole else last - 1
