"""What the budgets of the gaps make worth saying, as warnings."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from antexp.analysis.budget_result import GapBudgets
from antexp.decibels import signed_db
from antexp.field.bench_book import BenchBook
from antexp.field.trim_advice import HEIGHT_APART_M, is_behind_a_line
from antexp.notices import Notice, named_gap
from antexp.plan.model import Plan


def budget_notices(budgets: GapBudgets | None, candidates: tuple[str, ...], bench: BenchBook | None,
                   plan: Plan | None) -> list[Notice]:
    """Return what the user must know beside the budgets.

    Parameters
    ----------
    budgets : GapBudgets or None
        None: nothing is known of any gap.
    candidates : tuple of str
        Those in the record.
    bench : BenchBook or None
        The bench book that was used.
    plan : Plan or None
    """
    found = [] if bench is None else _not_in_record(bench, candidates)
    if budgets is None:
        return found
    return [*_unexplained(budgets), *_decides(budgets), *_bench(budgets, bench, plan), *found]


def _unexplained(budgets: GapBudgets) -> list[Notice]:
    """Name the gaps with a rest that physics does not explain, and where to look first."""
    b = budgets.budget
    odd = np.flatnonzero(b.too_large)
    if not len(odd):
        return []
    each = "; ".join(f"{named_gap(*budgets.pairs[i])} {signed_db(b.unexplained_db[i])} dB (give or take "
                     f"{b.unexplained_u_db[i]:.2f}, one standard uncertainty)" for i in odd)
    unmeasured = sorted({name for i in odd for name in budgets.pairs[i] if name not in budgets.mismatch_from})
    match = f" The match of {_names(unmeasured)} was not measured: measure it too." if unmeasured else ""
    text = (f"More than chance and the known physics explain: {each}. Before the metal is blamed look at crimps and "
            f"joints, length and trim, height, connectors, and common-mode current on the feed line.{match}")
    return [Notice("gap-not-explained", text)]


def _decides(budgets: GapBudgets) -> list[Notice]:
    """Name the gaps whose verdict is another one once mismatch is taken out."""
    rows = budgets.decided_by_mismatch
    if not rows:
        return []
    each = "; ".join(f"{named_gap(row['candidate'], row['against'])}: as used {signed_db(row['as_used_gap_db'])} dB, "
                     f"“{row['as_used_verdict']}”, matched {signed_db(row['gap_db'])} dB, “{row['verdict']}”"
                     for row in rows)
    return [Notice("mismatch-decides", f"Taking the mismatch out changes the verdict of {each}. The results hold as "
                   "used; the matched gap is that of the wires alone.")]


def _bench(budgets: GapBudgets, bench: BenchBook | None, plan: Plan | None) -> list[Notice]:
    """Warn of matches measured at another height than the test's, or behind a line."""
    users = [name for name, source in budgets.mismatch_from.items() if "bench book" in source]
    if bench is None or not users:
        return []
    rows = bench.last_match()
    rows = rows[rows["candidate"].isin(users)]
    found = []
    height = plan.radio.height_m if plan is not None else None
    apart = (rows["height_m"] - (np.nan if height is None else height)).abs() > HEIGHT_APART_M
    if apart.any():
        found.append(Notice("bench-height", f"The match of {_names(rows['candidate'][apart])} was measured at another "
                            f"height than the test's {height:g} m: the mismatch aloft may differ."))
    behind = rows["where"].map(is_behind_a_line).astype(bool)
    if behind.any():
        found.append(Notice("analyser-behind-line", f"The match of {_names(rows['candidate'][behind])} was measured "
                            "behind a line, whose loss makes a poor match look better than it is."))
    return found


def _not_in_record(bench: BenchBook, candidates: tuple[str, ...]) -> list[Notice]:
    """Name what the bench book measures and the record does not hold; a slip of typing would hide there."""
    strange = [str(name) for name in dict.fromkeys(bench.table["candidate"]) if name not in candidates]
    if not strange:
        return []
    return [Notice("bench-not-in-record", f"The bench book measures {_names(strange)}, of which the record has no "
                   "reading: it was not used. Names must be written as in the record.")]


def _names(names: Iterable[str]) -> str:
    """Name candidates, each once."""
    return ", ".join(f"“{name}”" for name in dict.fromkeys(names))
