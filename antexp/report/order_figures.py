"""The swap order as a picture: time runs across, a row a candidate, the reference marked."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from antexp.design.order_document import Order
from antexp.design.order_facts import clock
from antexp.report.style import BAND, INK, PATH, QUIET, REFERENCE, house_style, new_axes, row_pitch_in, wrapped

_GAP = 1.0  # room between two blocks, in swaps
_MOST_NUMBERED = 70  # more swaps than this and the numbers in the marks run into each other


def order_figure(order: Order, axes: Axes | None = None) -> Axes:
    """Draw who hangs when.

    Parameters
    ----------
    order : Order
    axes : Axes, optional
        Where to draw; left out: a fresh figure that grows with blocks and candidates.

    Returns
    -------
    Axes
        Swaps across, block after block; a row a candidate, the reference on top, every hanging a mark with the
        number of its swap (of its specimen, where a candidate has several, in the row's label).
    """
    table = order.table
    names = _rows(order)
    across = _across(table)
    labels = [wrapped(name) for name in names]
    with house_style():
        if axes is None:
            width, height = 2.6 + 0.17 * across.max(), 1.5 + row_pitch_in(labels, 0.42) * len(names)
            axes = new_axes(float(np.clip(width, 6.5, 24)), float(np.clip(height, 2.6, 18)))
        rows = np.array([names.index(name) for name in table["candidate"]])
        _bands(axes, table, across, order)
        for row in range(len(names)):
            axes.axhline(row, color=BAND, linewidth=1, zorder=0)
        is_reference = rows == 0
        several = table["specimen"].nunique() > 1 or table["place"].nunique() > 1
        numbered = len(table) <= _MOST_NUMBERED
        size = 150 if numbered else 30
        axes.scatter(across[is_reference], rows[is_reference], s=size, marker="s", color=REFERENCE, zorder=3)
        axes.scatter(across[~is_reference], rows[~is_reference], s=size, marker="o", color=PATH, zorder=3)
        if numbered:
            for x, row, swap in zip(across, rows, table["swap"], strict=True):
                axes.annotate(str(swap), (x, row), ha="center", va="center", fontsize=6.5, color="white", zorder=4)
        if several and numbered:
            _name_specimens(axes, table, across, rows)
        for label in dict.fromkeys(table["block"]):
            own = (table["block"] == label).to_numpy()
            axes.plot(across[own], rows[own], color=QUIET, linewidth=0.6, alpha=0.5, zorder=1)
        axes.set_yticks(range(len(names)), labels)
        axes.get_yticklabels()[0].set_fontweight("bold")
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.set_xlim(across.min() - 0.8, across.max() + 0.8)
        axes.set_xticks([])
        axes.grid(visible=False)
        axes.set_xlabel("swaps in time order; square: the reference" + _legend(table))
        for side in ("top", "right", "left", "bottom"):
            axes.spines[side].set_visible(False)
    return axes


def _rows(order: Order) -> list[str]:
    """Return the candidates from top to bottom: the reference, then as the plan has them."""
    hung = list(dict.fromkeys(order.table["candidate"]))
    planned = [name for name in order.recipe.get("names", ()) if name in hung]
    return planned or [order.reference, *(name for name in hung if name != order.reference)]


def _across(table: pd.DataFrame) -> np.ndarray:
    """Return the place of each swap across the picture, blocks set apart."""
    block = pd.factorize(table["block"])[0]
    return np.arange(len(table)) + _GAP * block


def _bands(axes: Axes, table: pd.DataFrame, across: np.ndarray, order: Order) -> None:
    """Shade every other block and write its name, and its start where the clock is known, over it."""
    blocks = pd.factorize(table["block"])[0]
    starts = order.block_starts or (None,) * (blocks.max() + 1)
    for number, label in enumerate(dict.fromkeys(table["block"])):
        own = across[blocks == number]
        left, right = own.min() - 0.5 - _GAP / 2, own.max() + 0.5 + _GAP / 2
        if number % 2 == 0:
            axes.axvspan(left, right, color=BAND, alpha=0.55, zorder=-1, linewidth=0)
        text = str(label) if len(own) < 4 and blocks.max() > 5 else f"block {label}"
        begins = clock(starts[number])
        text = f"{text}\n{begins}" if begins else text
        axes.annotate(text, ((left + right) / 2, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 3),
                      textcoords="offset points", ha="center", va="bottom", fontsize=8.5, color=INK)


def _name_specimens(axes: Axes, table: pd.DataFrame, across: np.ndarray, rows: np.ndarray) -> None:
    """Write specimen and place under each mark."""
    places = table["place"].nunique() > 1
    specimens = table["specimen"].nunique() > 1
    for x, row, specimen, place in zip(across, rows, table["specimen"], table["place"], strict=True):
        text = "/".join(part for part, shown in ((specimen, specimens), (place, places)) if shown)
        axes.annotate(text, (x, row), xytext=(0, -8), textcoords="offset points", ha="center", va="top", fontsize=6,
                      color=INK, zorder=4)


def _legend(table: pd.DataFrame) -> str:
    """Say what the small figures under the marks are."""
    words = [word for word, column in (("specimen", "specimen"), ("place", "place")) if table[column].nunique() > 1]
    return f"; below each mark: {' / '.join(words)}" if words and len(table) <= _MOST_NUMBERED else ""
