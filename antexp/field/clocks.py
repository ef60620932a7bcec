"""Clock times: what the other end's clock shows, and how far two clocks are apart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from statistics import median

_CLOCK = re.compile(r"([0-9]{1,2})[:. ]([0-9]{2})(?:[:. ]([0-9]{2}))?")
_HALF_DAY = timedelta(hours=12)


def other_clock(text: str, now: datetime) -> datetime | None:
    """Return the moment a spoken clock time means, the nearest to ``now``; None when it is not a clock time."""
    found = _CLOCK.fullmatch(text.strip())
    if not found or int(found[1]) > 23 or int(found[2]) > 59 or int(found[3] or 0) > 59:
        return None
    moment = now.replace(hour=int(found[1]), minute=int(found[2]), second=int(found[3] or 0), microsecond=0)
    if moment - now > _HALF_DAY:
        return moment - timedelta(days=1)
    return moment + timedelta(days=1) if now - moment > _HALF_DAY else moment


def seconds_ahead(rows: Iterable[Mapping[str, str]]) -> float | None:
    """Return how many seconds the other end's clock is ahead, by the comparisons written down; None without any."""
    ahead = [(datetime.fromisoformat(row["other_time"]) - datetime.fromisoformat(row["time"])).total_seconds()
             for row in rows if row["what"] == "clock" and row["left_out_by"] == "" and row["other_time"]]
    return float(median(ahead)) if ahead else None
