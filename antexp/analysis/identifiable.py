"""Whether a record can be judged at all, decided before fitting and said in words (method section 2)."""

from __future__ import annotations

import pandas as pd

from antexp.analysis.record_model import RecordModel, record_model
from antexp.design.estimable import aliased_columns, is_full_rank, rank, untied_sets
from antexp.errors import Fault, JudgementError
from antexp.notices import Notice

_SIMPLER = {"wandering": ("steady", "none"), "curved": ("steady", "none"), "steady": ("none",), "none": ()}


def check_identifiable(table: pd.DataFrame, record: RecordModel, drift: str, where: str) -> tuple[Notice, ...]:
    """Refuse a record that cannot carry the model, naming what would help.

    Parameters
    ----------
    table : DataFrame
        The record's readings.
    record : RecordModel
        Its arrays with specimens fixed.
    drift : str
        Form of drift asked for.
    where : str
        The file, for the message.

    Returns
    -------
    tuple of Notice
        ``few-degrees-of-freedom`` when one to three swaps are left over.

    Raises
    ------
    JudgementError
        Blocks that are not tied together, aliased drift, one hanging each, or nothing left over.
    """
    _check_repeats(table, where)
    untied = untied_sets(list(table["candidate"]), list(table["block"]))
    if untied is not None:
        raise JudgementError(
            Fault(
                f"no block ties {_list(untied.one)} to {_list(untied.other)}",
                where,
                do="Hang the reference in every block; what has been measured here cannot be compared.",
            )
        )
    if not is_full_rank(record.model):
        raise JudgementError(_aliased(table, record, drift, where))
    left = _left_over(table, record)
    if left <= 0:
        raise JudgementError(
            Fault(
                "nothing is left over to judge the scatter by",
                where,
                f"{table['swap'].nunique()} swaps for {record.model.X.shape[1]} fixed terms with drift {drift!r}",
                do=_fitting_form(table, record, drift),
            )
        )
    if left > 3:
        return ()
    text = (
        f"Only {left} swap{'s are' if left > 1 else ' is'} left over to judge the scatter by: the limits are wide, "
        "and one odd swap would change them much."
    )
    return (Notice("few-degrees-of-freedom", text),)


def _check_repeats(table: pd.DataFrame, where: str) -> None:
    """Refuse a record in which nothing was hung twice."""
    swaps = table.drop_duplicates("swap")
    if len(swaps) < 2 or swaps["candidate"].nunique() < 2:
        raise JudgementError(
            Fault(
                "there is nothing to compare",
                where,
                f"{len(swaps)} swap(s) of {swaps['candidate'].nunique()} candidate(s)",
                do="A comparison needs two candidates, each hung several times.",
            )
        )
    if not swaps["candidate"].duplicated().any():
        raise JudgementError(
            Fault(
                "every candidate was hung once only, so nothing shows how far the level moves when the same one goes "
                "up again, and no gap can be judged",
                where,
                f"{len(swaps)} swaps of {len(swaps)} candidates",
                do="Hang at least the reference again and again; for numbers you already have, "
                "`antexp gap --table FILE` says what chance alone would make of them.",
            )
        )


def _left_over(table: pd.DataFrame, record: RecordModel) -> int:
    """Return the swaps that the fixed terms leave over (swap by receiver, when receivers are modelled one by one)."""
    keys = ["swap", "receiver"] if record.averaged_receivers == 1 else ["swap"]
    units = len(table.drop_duplicates(keys))
    return units - rank(record.model.X)


def _aliased(table: pd.DataFrame, record: RecordModel, drift: str, where: str) -> Fault:
    """Say which terms cannot be told apart."""
    names = aliased_columns(record.model)
    return Fault(
        f"the order of the swaps cannot tell the candidates from the drift (terms already carried by others: "
        f"{', '.join(names)})",
        where,
        f"drift {drift!r}",
        do=_fitting_form(table, record, drift),
    )


def _fitting_form(table: pd.DataFrame, record: RecordModel, drift: str) -> str:
    """Name the richest simpler form of drift that this record can carry."""
    reference = record.model.candidates[0]
    for form in _SIMPLER[drift]:
        simpler = record_model(table, reference=reference, drift=form)
        if is_full_rank(simpler.model) and _left_over(table, simpler) > 0:
            return f"With --drift {form} this record can be judged, if the path allows that assumption."
    return "No simpler form of drift helps: more swaps are needed."


def _list(names: tuple[str, ...]) -> str:
    """Write names as a list in quotation marks."""
    return ", ".join(f"“{name}”" for name in names)
