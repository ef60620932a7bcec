"""All second opinions on one judgement."""

from __future__ import annotations

from antexp.analysis.coarse_record import CoarseFit
from antexp.analysis.result import Opinion
from antexp.analysis.second_opinions.asked import Asked
from antexp.analysis.second_opinions.heavy_tails import heavy_tails_opinion
from antexp.analysis.second_opinions.leave_one_out import leave_one_out_opinion
from antexp.analysis.second_opinions.mixed_library import mixed_library_opinion
from antexp.analysis.second_opinions.rerandomisation import rerandomisation_opinion
from antexp.analysis.second_opinions.swap_means import swap_means_opinion
from antexp.decibels import bound_db
from antexp.design.order_document import Order


def second_opinions(asked: Asked, order: Order | None) -> tuple[Opinion, ...]:
    """Ask every other method.

    Parameters
    ----------
    asked : Asked
        The judgement.
    order : Order or None
        The order the record followed, for the re-randomisation test.

    Returns
    -------
    tuple of Opinion
        Where readings were taken as ranges, the ordinary analysis of the readings as numbers alone: the others know
        no ranges.
    """
    if isinstance(asked.these, CoarseFit):
        return (_as_numbers(asked), rerandomisation_opinion(asked, order))
    return (
        mixed_library_opinion(asked),
        rerandomisation_opinion(asked, order),
        swap_means_opinion(asked),
        leave_one_out_opinion(asked),
        heavy_tails_opinion(asked),
    )


def _as_numbers(asked: Asked) -> Opinion:
    """Hold the ranges against the same readings taken as numbers."""
    method = "the readings as numbers, the step ignored"
    fitted = asked.these
    ordinary = super(CoarseFit, fitted).estimates(asked.pairs)  # type: ignore[misc]
    difference = float(abs(ordinary.gap_db - asked.family.gap_db).max())
    numbers = {"largest_difference_db": difference}
    if asked.verdicts(ordinary) == asked.verdicts(asked.family):
        text = f"The gaps differ by at most {bound_db(difference)} and no verdict would change."
        return Opinion(method, True, text, numbers)
    return Opinion(method, False, f"Gaps differ by up to {bound_db(difference)} and a verdict would change. Believe "
                   "the judgement: a number between two steps of the meter is not known to be in the middle.", numbers)
