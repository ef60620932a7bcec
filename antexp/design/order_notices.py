"""What a finished order warns of."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from antexp.design.demand import Demand
from antexp.design.estimable import contrast_variances
from antexp.design.planned_looks import end_confidence, planned_stops
from antexp.design.precision import GapPrecision, model_of
from antexp.design.specimen_scopes import pairs_of_many, specimens_can_differ
from antexp.notices import Notice, named_gap
from antexp.plan.model import Plan
from antexp.radio.element import wavelength_m

# A third of the precision gone to drift makes a limit about a fifth wider: worth a word. Judgement of ours.
MUCH_TO_DRIFT = 1 / 3
MUCH_TO_PLACE = 1 / 3


def order_notices(plan: Plan, demand: Demand, table: pd.DataFrame, gaps: Sequence[GapPrecision]) -> tuple[Notice, ...]:
    """Collect the warnings of an order.

    Parameters
    ----------
    plan : Plan
    demand : Demand
    table : DataFrame
        One row a swap.
    gaps : sequence of GapPrecision
    """
    return tuple(_tied_to_time(gaps) + _specimens(demand) + _any_specimen(table, gaps) + _wander(demand)
                 + _places(demand, table, gaps) + _idle_antenna(plan, demand)
                 + _looks(demand, int(table["block"].nunique())))


def _tied_to_time(gaps: Sequence[GapPrecision]) -> list[Notice]:
    """Name the gaps that lose much of their precision to drift."""
    tied = [gap for gap in gaps if gap.tied_to_time > MUCH_TO_DRIFT]
    if not tied:
        return []
    worst = max(tied, key=lambda gap: gap.tied_to_time)
    names = _listed([named_gap(gap.candidate, gap.against) for gap in tied])
    return [Notice("tied-to-time", f"Drift takes up to {100 * worst.tied_to_time:.0f} % of the precision of {names}: "
                   "they stand mostly early or mostly late in their blocks. More blocks, or larger ones, help.")]


def _looks(demand: Demand, blocks: int) -> list[Notice]:
    """Say what planned looks before the end cost."""
    *before, _ = planned_stops(demand.may_stop_after, blocks)
    if not before:
        return []
    end = end_confidence(demand.may_stop_after, blocks, demand.confidence)
    return [Notice("looks-planned", f"Looks are planned after {' and '.join(map(str, before))} of {blocks} blocks. "
                   f"They are paid for at the end, where limits stand at {100 * end:.2f} % instead of "
                   f"{100 * demand.confidence:g} %; what is said here holds for the end. A large gap may be settled "
                   "at a look before it.")]


def _specimens(demand: Demand) -> list[Notice]:
    """Say what single specimens leave unseen."""
    single = [name for name, count in zip(demand.names, demand.specimens, strict=True) if count == 1]
    if not single:
        return []
    every = len(single) == len(demand.names)
    text = f"One specimen of {'each' if every else _quoted(single)}: the gaps concern these antennas, not "
    text += "the next ones cut from the reel."
    if demand.specimens[0] == 1:
        text += " The reference's own specimen stands in every gap to it, however often it is hung."
    return [Notice("one-specimen-each" if every else "few-specimens", text)]


def _any_specimen(table: pd.DataFrame, gaps: Sequence[GapPrecision]) -> list[Notice]:
    """Say that the judgement will ask about more than the specimens that hang, with wider limits."""
    if not specimens_can_differ(table) or not pairs_of_many(table, [(gap.candidate, gap.against) for gap in gaps]):
        return []
    return [Notice("order-for-these-specimens", "What is said here holds for the specimens that hang. There are enough "
                   "of them for the judgement to be about any specimen of a wire, and its limits are wider then, often "
                   "twice as wide: antexp repeats says how wide.")]


def _wander(demand: Demand) -> list[Notice]:
    """Say that the judgement does not know the path's walk, which is taken as planned here."""
    if demand.drift != "wandering":
        return []
    return [Notice("order-takes-walk-as-known", "How much the path wanders is taken as planned here. The judgement "
                   "finds it from the readings, and its limits are somewhat wider for that (by up to a fifth on days "
                   "that were tried): antexp repeats says how wide.")]


def _places(demand: Demand, table: pd.DataFrame, gaps: Sequence[GapPrecision]) -> list[Notice]:
    """Warn when a wire and a mast can hardly be told apart."""
    if demand.places == 1 or table["place"].nunique() < 2:
        return []
    model = model_of(table, demand)
    rows = model.gaps([(gap.candidate, gap.against) for gap in gaps])
    others = np.setdiff1d(np.arange(model.X.shape[1]), model.columns_of("place"))
    lost = 1 - contrast_variances(model.X[:, others], rows[:, others]) / contrast_variances(model.X, rows)
    tied = [gap.candidate for gap, share in zip(gaps, lost, strict=True) if share > MUCH_TO_PLACE]
    seen = table.groupby("candidate")["place"].nunique()
    tied += [name for name in demand.names if seen.get(name, 2) == 1]
    if not tied:
        return []
    return [Notice("tied-to-place", f"{_quoted(list(dict.fromkeys(tied)))}: hung in one place only, or mostly, so that "
                   "wire and mast can hardly be told apart. A number of blocks that the "
                   f"{demand.places} places divide evenly helps.")]


def _idle_antenna(plan: Plan, demand: Demand) -> list[Notice]:
    """Warn of an idle antenna within a wavelength of the one that is measured."""
    if demand.places == 1:
        return []
    spacing, frequency = plan.field.place_spacing_m, plan.radio.frequency_mhz
    if frequency is None:
        return []
    wavelength = float(wavelength_m(frequency))
    if spacing is not None and spacing >= wavelength:
        return []
    known = "How far the places stand apart is not stated (field.place_spacing_m)"
    if spacing is not None:
        known = f"The places stand {spacing:g} m apart"
    return [Notice("idle-antenna-near", f"{known}; one wavelength is {wavelength:.3g} m. An antenna that hangs idle "
                   "within a wavelength changes the level of the other by its mere presence: lower it, or open its "
                   "feed point (common practice, no source).")]


def _quoted(names: Sequence[str]) -> str:
    """Return up to four names in quotation marks, for a name may hold a comma itself; the rest as a number."""
    return _listed([f"“{name}”" for name in names])


def _listed(phrases: Sequence[str]) -> str:
    """Return up to four phrases, the rest as a number."""
    shown = ", ".join(phrases[:4])
    return shown if len(phrases) <= 4 else f"{shown} and {len(phrases) - 4} more"
