"""What next: what would settle what stays open, what holds the record back, and what the set-up could notice."""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping

import numpy as np
import pandas as pd

from antexp.analysis.more_blocks import more_blocks
from antexp.analysis.result import Judgement
from antexp.mixed.verdict import CANNOT_TELL, REAL_MAY_MATTER
from antexp.report.less_sure import about, decided_by_mismatch
from antexp.report.numbers import decibels, joined
from antexp.report.tables import largest_noticed_db

_FAR_APART = 1.5
"""One share of the scatter is called the larger one from this ratio on."""
_HARDLY = 20
"""More blocks than this are no advice."""
_NAMED_AT_MOST = 4

_MEND = {
    "gap-not-explained": "find what physics does not explain{of} (crimps, length, height)",
    "mismatch-decides": "trim or match {one}, where mismatch decides (a trimmed wire is another antenna: begin a new "
    "record)",
    "unequal-scatter": "see why {one} scatters more (clamps, slack, feed)",
    "odd-swap": "look up what was noted about the odd swap{of}",
    "carry-over": "see what {one} leaves behind for the next",
    "drift-form-not-enough": "allow for the form of drift that shows",
    "receivers-disagree": "see why the receivers differ",
    "signal-in-noise": "get further above the noise",
    "tied-to-time": "hang the wires in a fair order",
    "tied-to-place": "hang every wire in every place",
    "coarse-meter": "use a finer meter, or an attenuator in front of it",
    "all-readings-equal": "use a finer meter, or an attenuator in front of it",
}
"""What to see to first, by the code of the warning that says so at length."""


def next_steps(judgement: Judgement) -> list[str]:
    """Return what to do next, in plain words.

    Returns
    -------
    list of str
        What would settle the gaps that stay open, what to mend first, where a better record would come from, and what
        it takes to speak of more than these specimens.
    """
    is_open = judgement.matter_db is None or bool(set(judgement.family["verdict"]) & {CANNOT_TELL, REAL_MAY_MATTER})
    said = [_to_mend(judgement, is_open), *_to_settle(judgement)]
    if is_open:
        said.append(_where_scatter_comes_from(judgement))
    return [text for text in (*said, _more_specimens(judgement), _then()) if text]


def noticeable(judgement: Judgement) -> str:
    """Say which true gap such a day notices, how often, and how much longer a day for the gap that matters would be."""
    sizes = judgement.family["detectable_db"].astype(float).dropna()
    most = largest_noticed_db(judgement)
    if most is None:
        return ""
    often = f"{100 * judgement.chance:.0f} of 100 such days"
    size = (f"{decibels(most)} dB" if decibels(float(sizes.min())) == decibels(most) else
            f"{decibels(float(sizes.min()))} to {decibels(most)} dB, depending on the gap,")
    text = f"A day like this one notices a true gap of {size} on {often}."
    return f"{text}{_enough(judgement, judgement.family, most)}"


def _enough(judgement: Judgement, rows: pd.DataFrame, worst_db: float) -> str:
    """Hold what is noticed against the gap that matters."""
    matter = judgement.matter_db
    if matter is None:
        return ""
    if worst_db <= matter:
        return f" That is enough for the {matter:g} dB that matter."
    worst = int(np.nanargmax(rows["detectable_db"].to_numpy(float)))
    freedom = float(rows["degrees_of_freedom"].to_numpy(float)[worst])
    extra = more_blocks(matter, worst_db, None, judgement.blocks, freedom)
    if extra is None:
        return (f" To notice a gap of just {matter:g} dB, hangings must become more alike: more blocks alone will not "
                "do.")
    return (f" To notice a gap of just {matter:g} dB as often would take about {judgement.blocks + extra} blocks "
            f"instead of {judgement.blocks}, if the scatter stays as seen.")


def _to_settle(judgement: Judgement) -> list[str]:
    """Say what would settle the gaps that stay open."""
    rows = judgement.family
    if judgement.matter_db is None:
        return ["Say which gap would change your choice (matter_db in the plan, --matter): without it antexp can call "
                "a gap real, not large enough."]
    open_rows, may = rows[rows["verdict"] == CANNOT_TELL], rows[rows["verdict"] == REAL_MAY_MATTER]
    said = [_open(open_rows, judgement), _may_matter(may, judgement)]
    if not any(said):
        return [f"Nothing is open for the {judgement.matter_db:g} dB that matter: no more swaps are needed for this "
                "question."]
    return said


def _open(rows: pd.DataFrame, judgement: Judgement) -> str:
    """Say what would settle the gaps of which nothing can be told."""
    if rows.empty:
        return ""
    needed = [None if blocks is None or blocks != blocks else int(blocks) for blocks in rows["more_blocks"]]
    few, many = _few_and_many(rows, needed, math.inf, judgement)
    said = []
    if few:
        kept = " and the wires are left as they are" if decided_by_mismatch(judgement) else ""
        said.append(f"To settle {few[0]}: about {few[1]} like these, if gap and scatter stay as seen{kept}.")
    if many and _same_number_throughout(judgement):
        said.append(f"More blocks read in the same way would only show the same number again and not settle {many}.")
    elif many and judgement.as_ranges and judgement.spread.rehang_sd_db is None:
        said.append(f"To settle {many}, read with a finer step first: the meter's step hides how the hangings scatter, "
                    "so that nobody can say how many more blocks it takes.")
    elif many:
        said.append(f"More blocks alone would hardly settle {many}: hangings must become more alike, or the question "
                    "coarser.")
    return " ".join(said)


def _may_matter(rows: pd.DataFrame, judgement: Judgement) -> str:
    """Say what would show whether real gaps are large enough."""
    if rows.empty or judgement.matter_db is None:
        return ""
    needed = [more_blocks(abs(abs(row["gap_db"]) - judgement.matter_db), row["resolution_db"], None, judgement.blocks,
                          row["degrees_of_freedom"]) for row in rows.to_dict(orient="records")]
    few, many = _few_and_many(rows, needed, _HARDLY, judgement)
    matter, said = f"{judgement.matter_db:g} dB", []
    if few:
        said.append(f"To know whether it is {matter} or more for {few[0]}: about {few[1]} like these, if gap and "
                    "scatter stay as seen.")
    if many:
        said.append(f"So near {matter} that even {_HARDLY} more blocks would hardly show on which side: {many}. Say "
                    f"“about {matter}”.")
    return " ".join(said)


def _few_and_many(rows: pd.DataFrame, needed: list[int | None], at_most: float,
                  judgement: Judgement) -> tuple[tuple[str, str] | None, str]:
    """Part the gaps that a few more blocks settle (their names, and how many blocks) from those that they do not."""
    names = [_name(row, judgement) for row in rows.to_dict(orient="records")]
    few = [(name, blocks) for name, blocks in zip(names, needed, strict=True)
           if blocks is not None and blocks <= at_most]
    many = [name for name, blocks in zip(names, needed, strict=True) if blocks is None or blocks > at_most]
    if not few:
        return None, _named(many)
    most = max(blocks for _, blocks in few)
    return (_named([name for name, _ in few]), f"{most} more block{'s' if most > 1 else ''}"), _named(many)


def _named(names: list[str]) -> str:
    """Name a few gaps; of more say how many, the table has them."""
    return joined(names) if len(names) <= _NAMED_AT_MOST else f"{len(names)} gaps"


def _name(row: Mapping[Hashable, object], judgement: Judgement) -> str:
    """Name a gap."""
    pair = judgement.compare == "each-other"
    return f"“{row['candidate']}”" + (f" against “{row['against']}”" if pair else "")


def _to_mend(judgement: Judgement, is_open: bool) -> str:
    """Say what the warnings ask to see to before more swaps are done; a coarse meter only where something is open."""
    codes = {notice.code for notice in judgement.warnings} - (set() if is_open else {"coarse-meter"})
    found = [about(text, judgement, code) for code, text in _MEND.items() if code in codes]
    return f"First {joined(found)}: “What to know beside the numbers” says more." if found else ""


def _where_scatter_comes_from(judgement: Judgement) -> str:
    """Say whether more hangings or more readings would narrow the limits."""
    if _same_number_throughout(judgement):
        return ""
    spread = judgement.spread
    halve = "Four times as many swaps halve the limits."
    if judgement.as_ranges:
        return ("What holds this set-up back is the meter's step, which more readings a swap do not average away. "
                f"{halve}")
    if spread.rehang_sd_db is None or spread.reading_sd_db is None:
        return halve
    per_swap = spread.reading_sd_db / math.sqrt(judgement.readings / judgement.swaps)
    sizes = (f"{decibels(spread.rehang_sd_db)} dB from hanging to hanging, {decibels(per_swap)} dB of the "
             "meter's own in a swap's mean")
    if spread.rehang_sd_db >= _FAR_APART * per_swap:
        return (f"What holds this set-up back is re-hanging ({sizes}): more readings a swap would hardly help; more "
                f"swaps do, and hangings that are more alike (same height, slack, feed). {halve}")
    if per_swap >= _FAR_APART * spread.rehang_sd_db:
        return f"What holds this set-up back is the meter ({sizes}): more readings a swap would help. {halve}"
    return f"Re-hanging and meter hold this set-up back about alike ({sizes}). {halve}"


def _same_number_throughout(judgement: Judgement) -> bool:
    """Tell whether the meter showed one number all day, so that more of the same tells nothing more."""
    return "all-readings-equal" in {notice.code for notice in judgement.warnings}


def _more_specimens(judgement: Judgement) -> str:
    """Say what it takes to speak of the kind of wire."""
    codes = {notice.code for notice in judgement.warnings}
    if not codes & {"one-specimen-each", "few-specimens"}:
        return ""
    return ("To speak of the kind of wire and not of these very antennas, make a second and third specimen of each and "
            "hang them all.")


def _then() -> str:
    """Name the commands that go on from here."""
    return ("antexp new PLAN --from DIR writes the next plan from this record (DIR: the folder of this report), antexp "
            "repeats PLAN says what it would notice, antexp choose lays out what to buy.")
