"""The picture to choose by: how far each wire may fall short of the best, against what it costs or weighs."""

from __future__ import annotations

from typing import Literal

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from antexp.analysis.choice import IN_THE_GROUP, Choice, Wire
from antexp.report.style import BAND, DEEP_GREEN, GREEN, INK, MARKS, MATTER, QUIET, house_style, new_axes, wrapped

By = Literal["price", "mass"]

_HEADS: dict[str, str] = {"price": "price a metre", "mass": "mass, g a metre"}
_GROUP = GREEN
_GROUP_TEXT = DEEP_GREEN
_WIRES_AT_MOST, _FEW = 20, 8


def choice_figure(choice: Choice, by: By = "price", axes: Axes | None = None) -> Axes:
    """Draw each wire's gap to the best of the others, with limits, against its price or mass.

    Parameters
    ----------
    choice : Choice
    by : {"price", "mass"}
    axes : Axes, optional
        Where to draw; left out: a fresh figure.

    Returns
    -------
    Axes
        Price or mass across, gap in dB up. A wire belongs to the group when its whole line stays inside the green
        band; wires without a number stand at the right, apart.
    """
    finite = [wire for wire in choice.wires if np.isfinite(wire.gap_db)]
    wires = finite[:_WIRES_AT_MOST]
    values = {wire.name: wire.price_per_m if by == "price" else wire.mass_g_per_m for wire in wires}
    with house_style():
        axes = axes if axes is not None else new_axes(*_size(wires))
        places = _places(wires, values)
        _draw_ground(axes, wires, choice.matter_db)
        for wire in wires:
            _draw_wire(axes, wire, places[wire.name], [places[other.name] for other in wires])
        _name_wires(axes, wires, places)
        _set_axes(axes, wires, values, places, by)
        _draw_key(axes, wires, choice.matter_db, len(finite) - len(wires))
    return axes


def _size(wires: list[Wire]) -> tuple[float, float]:
    """Return width and height in inches: high enough for the list of names, wider where there are many."""
    lines = sum(wrapped(wire.name, _letters(wires)).count("\n") + 1 for wire in wires)
    return (9.0 if len(wires) <= _FEW else 11.5), max(5.2, 0.6 + 0.155 * lines + 0.1 * len(wires))


def _letters(wires: list[Wire]) -> int:
    """Return how many letters of a name stand in a line."""
    return 24 if len(wires) <= _FEW else 40


def _places(wires: list[Wire], values: dict[str, float | None]) -> dict[str, float]:
    """Return each wire's place across; wires of one value side by side, those without a value apart at the right."""
    known = sorted(value for value in values.values() if value is not None)
    low, high = (known[0], known[-1]) if known else (0.0, 1.0)
    width = (high - low) or max(high, 1.0)
    places: dict[str, float] = {}
    for wire in sorted(wires, key=lambda wire: (values[wire.name] is None, values[wire.name] or 0.0)):
        given = values[wire.name]
        at = high + 0.16 * width if given is None else given
        step = 0.05 if given is None else 0.03  # without a number the place says nothing: room for two digits
        while any(abs(at - taken) < 0.93 * step * width for taken in places.values()):
            at += step * width
        places[wire.name] = at
    return places


def _draw_ground(axes: Axes, wires: list[Wire], matter_db: float | None) -> None:
    """Shade what lies within matter_db of the best, and draw zero."""
    top = max([0.3, *(wire.interval_db[1] for wire in wires if np.isfinite(wire.interval_db[1]))]) + 0.45
    lows = [wire.interval_db[0] for wire in wires if np.isfinite(wire.interval_db[0])]
    bottom = min([0.0 if matter_db is None else -1.15 * matter_db, *lows]) - 0.25
    if matter_db is not None:
        axes.axhspan(-matter_db, top, color=_GROUP, alpha=0.10, linewidth=0, zorder=0)
        axes.axhline(-matter_db, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)
    axes.axhline(0.0, color=INK, linewidth=1.2, zorder=1)
    axes.set_ylim(bottom, top)


def _draw_wire(axes: Axes, wire: Wire, x: float, others: list[float]) -> None:
    """Draw one wire: its limits as a line, its gap as the verdict's mark; the group thicker."""
    mark, inside = MARKS[wire.verdict], wire.standing == IN_THE_GROUP
    colour = _GROUP if inside else mark.colour
    low, high = wire.interval_db
    if np.isfinite(low) and np.isfinite(high):
        axes.plot([x, x], [low, high], color=colour, linewidth=4.2 if inside else 2.0, solid_capstyle="butt", zorder=2)
    face, marker = colour if inside or mark.filled else "white", "s" if inside else mark.marker
    axes.plot(x, wire.gap_db, marker, color=colour, markerfacecolor=face, markersize=9, markeredgewidth=1.8, zorder=3)


def _name_wires(axes: Axes, wires: list[Wire], places: dict[str, float]) -> None:
    """Write a number over each line, from left to right, and the names beside the picture, the group's bold."""
    for number, wire in enumerate(sorted(wires, key=lambda wire: places[wire.name]), start=1):
        inside = wire.standing == IN_THE_GROUP
        top = wire.interval_db[1] if np.isfinite(wire.interval_db[1]) else wire.gap_db
        axes.annotate(str(number), (places[wire.name], top), xytext=(0, 4), textcoords="offset points", ha="center",
                      va="bottom", fontsize=9.5, color=_GROUP_TEXT if inside else INK, zorder=4,
                      weight="bold" if inside else "normal")
        # a handle without a line: the legend then is a plain list, and never covers the picture
        axes.plot([], [], linestyle="none", label=f"{number}  {wrapped(wire.name, _letters(wires))}")
    names = axes.figure.legend(loc="outside right upper", frameon=False, fontsize=9, handlelength=0, handletextpad=0,
                               labelspacing=0.7)
    for text, wire in zip(names.get_texts(), sorted(wires, key=lambda wire: places[wire.name]), strict=True):
        if wire.standing == IN_THE_GROUP:
            text.set_color(_GROUP_TEXT)
            text.set_fontweight("bold")


def _set_axes(axes: Axes, wires: list[Wire], values: dict[str, float | None], places: dict[str, float], by: By) -> None:
    """Name the axes and part off the wires without a number."""
    axes.grid(axis="x", visible=False)
    across = list(places.values())
    edge = 0.12 * ((max(across) - min(across)) or 1.0)
    axes.set_xlim(min(across) - edge, max(across) + edge)
    axes.set_xlabel(_HEADS[by])
    axes.set_ylabel("gap to the best of the others, dB")
    if not any(value is not None for value in values.values()):
        axes.set_xticks([])  # the places say nothing
        axes.set_xlabel(f"{_HEADS[by]}: none given, side by side")
    without = [places[wire.name] for wire in wires if values[wire.name] is None]
    if without and len(without) < len(wires):
        known = [places[wire.name] for wire in wires if values[wire.name] is not None]
        axes.axvline((max(known) + min(without)) / 2, color=QUIET, linewidth=0.8, linestyle=":", zorder=0)
        axes.annotate(f"no {by} given", (float(np.mean(without)), 1.0), xycoords=("data", "axes fraction"),
                      xytext=(0, -4), textcoords="offset points", ha="center", va="top", fontsize=8.5, color=QUIET)
        axes.set_xticks([tick for tick in axes.get_xticks() if axes.get_xlim()[0] <= tick <= max(known)])


def _draw_key(axes: Axes, wires: list[Wire], matter_db: float | None, left_out: int) -> None:
    """Explain marks, band and line below the picture."""
    handles: list[Artist] = []
    if any(wire.standing == IN_THE_GROUP for wire in wires):
        handles.append(Line2D([], [], color=_GROUP, marker="s", linewidth=4, markersize=8,
                              label="the group: its whole line is in the band"))
    present = {wire.verdict: wire.standing for wire in wires if wire.standing != IN_THE_GROUP}
    for verdict, mark in MARKS.items():
        if verdict in present:
            handles.append(Line2D([], [], color=mark.colour, marker=mark.marker, linewidth=2, markersize=7,
                                  markerfacecolor=mark.colour if mark.filled else "white", label=present[verdict]))
    if matter_db is not None:
        handles.append(Patch(color=_GROUP, alpha=0.15, label=f"less than {matter_db:g} dB short of the best"))
    if left_out:
        handles.append(Line2D([], [], linestyle="none", label=f"{left_out} more are not drawn: see the table"))
    if not handles:
        handles.append(Patch(color=BAND, label="no gap that matters was stated"))
    axes.figure.legend(handles=handles, loc="outside lower center", ncols=3, frameon=False, fontsize=9)
