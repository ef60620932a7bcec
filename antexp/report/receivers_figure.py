"""What each receiver saw: every gap with one row a receiver."""

from __future__ import annotations

from matplotlib.axes import Axes

from antexp.analysis.result import Judgement
from antexp.report.style import (
    BLUE,
    BROWN,
    GREEN,
    GREY,
    INK,
    MATTER,
    ORANGE,
    PINK,
    REPORT_WIDTH_IN,
    house_style,
    new_axes,
    row_pitch_in,
    wrapped,
)

_MARKERS = "osD^v<>P"
_COLOURS = (BLUE, ORANGE, GREEN, PINK, BROWN, GREY)


def receivers_figure(judgement: Judgement, axes: Axes | None = None) -> Axes:
    """Draw the gaps as each receiver saw them.

    Returns
    -------
    Axes
        Gaps in dB across; limits hold for all gaps of one receiver together.

    Raises
    ------
    ValueError
        When there was one receiver.
    """
    if judgement.receivers is None:
        raise ValueError("the record has one receiver; there is nothing to compare")
    rows = judgement.receivers.gaps
    pairs = list(dict.fromkeys(zip(rows["candidate"], rows["against"], strict=True)))[::-1]
    names = list(dict.fromkeys(rows["receiver"]))
    several = len({against for _, against in pairs}) > 1
    labels = [wrapped(f"{one} against {other}" if several else str(one)) for one, other in pairs]
    with house_style():
        pitch_in = row_pitch_in(labels, 0.3 + 0.22 * len(names))
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 1.4 + pitch_in * len(pairs))
        axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
        if judgement.matter_db is not None:
            for side in (-1, 1):
                axes.axvline(side * judgement.matter_db, color=MATTER, linewidth=1.2, linestyle=(0, (5, 3)), zorder=1)
        for r, name in enumerate(names):
            mine = rows[rows["receiver"] == name].set_index(["candidate", "against"])
            offset = 0.22 * ((len(names) - 1) / 2 - r)
            for y, pair in enumerate(pairs):
                low, high = mine.loc[pair, "interval_db"]
                axes.plot([low, high], [y + offset] * 2, color=_COLOURS[r % len(_COLOURS)], linewidth=1.8, zorder=2)
                axes.plot(mine.loc[pair, "gap_db"], y + offset, _MARKERS[r % len(_MARKERS)], markersize=6, zorder=3,
                          color=_COLOURS[r % len(_COLOURS)], label=f"receiver {name}" if y == 0 else None)
        axes.set_yticks(range(len(pairs)), labels)
        axes.set_ylim(-0.5, len(pairs) - 0.5)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel("gap in dB (left: weaker, right: stronger)")
        axes.figure.legend(loc="outside lower center", ncols=3, frameon=False, fontsize=9)
    return axes
