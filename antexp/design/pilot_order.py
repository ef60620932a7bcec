"""The pilot: the set-up test and a few re-hangings of the reference alone, before anything is compared."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from antexp.design.check_words import check_words
from antexp.design.order_document import Order
from antexp.design.order_file import companions, order_files
from antexp.design.replaceable import refuse_filled_form
from antexp.design.setup_test import HANG, RE_HANGINGS, SETUP_STEPS
from antexp.design.streams import WORDS
from antexp.errors import Fault, OrderError
from antexp.files import write_all_whole
from antexp.plan.model import Plan
from antexp.spreadsheet import csv_text

FORM_COLUMNS: tuple[str, ...] = ("swap", "word", "step", "reading", "minutes", "level_db", "attenuator_db", "do")


def pilot_order(plan: Plan, hangings: int = RE_HANGINGS) -> Order:
    """Lay out the pilot: the reference, hung again and again.

    Parameters
    ----------
    plan : Plan
    hangings : int
        How often; 3 or more.

    Returns
    -------
    Order
        One block; without gaps, since nothing is compared, and without a recipe, since nothing is drawn.

    Raises
    ------
    OrderError
        When fewer than 3 hangings are asked for: they would show no scatter beside a drift.
    """
    if hangings < 3:
        raise OrderError(Fault("a pilot needs more hangings", "", str(hangings), "3 or more, 6 is common practice"))
    seed = plan.field.seed
    minutes = _first_swap_minutes() + plan.field.minutes_per_swap * np.arange(hangings, dtype=float)
    minutes[0] = 0.0
    table = pd.DataFrame({
        "swap": np.arange(1, hangings + 1), "block": "1", "position": np.arange(1, hangings + 1), "minutes": minutes,
        "word": check_words(hangings, np.random.default_rng([seed, WORDS, 1])), "candidate": plan.reference,
        "specimen": "1", "place": "1", "role": "reference",
    })
    return Order(table=table, seed=seed, recipe={}, precision_kept=None, gaps=(),
                 minutes_per_swap=plan.field.minutes_per_swap, block_starts=(None,),
                 plan_sha256=plan.sha256)


def pilot_form(order: Order) -> pd.DataFrame:
    """Return the form that is filled in during the pilot and read by ``antexp pilot``.

    Parameters
    ----------
    order : Order
        As `pilot_order` makes it.

    Returns
    -------
    DataFrame
        One row a reading to be taken: ``swap``, ``word``, ``step`` (a name of `antexp.design.setup_test`),
        ``reading`` (numbered within the swap), ``minutes`` (planned), ``level_db`` and ``attenuator_db`` (blank, to be
        written in; the attenuator's value in dB beside the readings with it), ``do``.
    """
    rows: list[dict[str, Any]] = []
    for swap, word, begin in order.table[["swap", "word", "minutes"]].itertuples(index=False):
        steps = SETUP_STEPS if swap == 1 else tuple(step for step in SETUP_STEPS if step.name == HANG)
        minute, reading = float(begin), 0
        for step in steps:
            for number in range(step.readings):
                reading += 1
                rows.append({"swap": swap, "word": word, "step": step.name, "reading": reading, "minutes": minute,
                             "level_db": "", "attenuator_db": "", "do": step.do if number == 0 else ""})
                minute += step.every_minutes
            minute += 1.0  # a minute to change over
    return pd.DataFrame(rows, columns=list(FORM_COLUMNS))


def write_pilot(order: Order, path: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Write the pilot's order, its companions and the form to fill in, all or none.

    Parameters
    ----------
    order : Order
        As `pilot_order` makes it.
    path : path-like
        The order file, such as ``pilot.csv``; the form goes to ``pilot.form.csv``.

    Returns
    -------
    tuple of Path
        Order file, reading end's file, recipe, form.

    Raises
    ------
    OrderError
        When something else stands at the order file's path, or a form that holds readings.
    """
    files = order_files(order, path)
    form = Path(path).with_name(f"{Path(path).stem}.form.csv")
    refuse_filled_form(form)
    rows = pilot_form(order).assign(candidate=order.reference)
    files[form] = csv_text(list(rows.columns), rows.itertuples(index=False))
    write_all_whole(files)
    return Path(path), *companions(path), form


def _first_swap_minutes() -> float:
    """Return how much longer than a plain swap the first one lasts: the whole set-up test is done in it."""
    return float(sum(step.readings * step.every_minutes + 1.0 for step in SETUP_STEPS if step.name != HANG))
