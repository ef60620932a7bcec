"""Pictures of what physics expects: loss per candidate with its range, and the same wires over the HF bands."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from antexp.plan.expected_loss import ExpectedLoss, ExpectedLosses, LossCurves
from antexp.plan.expected_losses import loss_curves
from antexp.plan.model import Plan
from antexp.report.numbers import MINUS
from antexp.report.style import (
    BAND,
    BLUE,
    BROWN,
    GREEN,
    GREY,
    INK,
    MATTER,
    ORANGE,
    PATH,
    PINK,
    QUIET,
    REFERENCE,
    REPORT_WIDTH_IN,
    SKY,
    VERMILION,
    house_style,
    new_axes,
    row_pitch_in,
    wrapped,
)

HF_MHZ = (1.8, 30.0)
"""The bands over which the wires are drawn."""

BANDS_MHZ = (1.8, 3.5, 7.0, 10.0, 14.0, 21.0, 28.0)
"""Frequencies that are written on the axis."""

_ROWS_AT_MOST = 60
_FREQUENCIES = 100
_LINES_AT_MOST = 12
_COLOURS = (BLUE, ORANGE, GREEN, PINK, BROWN, SKY, VERMILION, GREY)
"""Colour-blind safe; lines differ by dashes too."""
_SHARES = {
    "mismatch": ("mismatch", BLUE, None),
    "conductor": ("metal, as expected", ORANGE, None),
    "height and sag": ("height and sag", GREEN, None),
    "unexplained": ("unexplained", MATTER, "//"),
}
"""Label, colour and hatch of each share of a gap."""
_DASHES = ("-", (0, (5, 2)), (0, (1, 1.5)), (0, (6, 2, 1, 2)))


def expected_loss_figure(expected: ExpectedLosses, axes: Axes | None = None) -> Axes:
    """Draw the expected loss of each candidate with its range, and how far the plan's detectable gap reaches.

    Parameters
    ----------
    expected : ExpectedLosses
    axes : Axes, optional
        Where to draw; left out: a fresh figure of a fitting size.

    Returns
    -------
    Axes
        Loss in dB across, one row a candidate in the order of the plan; candidates about which physics is silent are
        named and left empty.
    """
    rows = expected.candidates[:_ROWS_AT_MOST]
    labels = [wrapped(each.name) for each in rows]
    lines = sum(label.count("\n") + 1 for label in labels)
    with house_style():
        axes = axes if axes is not None else new_axes(8.0, 1.9 + 0.2 * lines + 0.2 * len(rows))
        handles = [*_draw_reach(axes, expected), *_draw_losses(axes, rows, expected.reference)]
        axes.set_yticks(range(len(rows)), labels)
        axes.set_ylim(len(rows) - 0.4, -0.6)
        axes.set_xlim(left=0.0)
        axes.grid(axis="y", visible=False)
        at = "" if expected.frequency_mhz is None else f" at {expected.frequency_mhz:g} MHz"
        axes.set_xlabel(f"expected loss in the wire{at}, dB (a {expected.element})")
        axes.figure.legend(handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return axes


def _draw_reach(axes: Axes, expected: ExpectedLosses) -> list[Patch | Line2D]:
    """Shade what the plan cannot tell from the reference, and mark the gap that matters."""
    reference = next((each.conductor_loss_db for each in expected.candidates
                      if each.name == expected.reference and each.conductor_loss_db is not None), None)
    handles: list[Patch | Line2D] = []
    if reference is None:
        return handles
    if expected.detectable_db is not None:
        axes.axvspan(max(0.0, reference - expected.detectable_db), reference + expected.detectable_db, color=BAND,
                     zorder=0)
        handles.append(Patch(color=BAND, label=f"nearer to the reference than the {expected.detectable_db:.2f} dB that "
                             "this plan notices"))
    if expected.matter_db is not None:
        for edge in (reference - expected.matter_db, reference + expected.matter_db):
            if edge > 0:
                axes.axvline(edge, color=MATTER, linewidth=1.3, linestyle=(0, (5, 3)), zorder=1)
        handles.append(Line2D([], [], color=MATTER, linestyle=(0, (5, 3)),
                              label=f"{expected.matter_db:g} dB from the reference: the gap that matters"))
    return handles


def _draw_losses(axes: Axes, rows: tuple[ExpectedLoss, ...], reference: str) -> list[Line2D]:
    """Draw range, value and number of each candidate."""
    for y, each in enumerate(rows):
        if each.conductor_loss_db is None or each.conductor_loss_range_db is None:
            axes.annotate("physics is silent: " + ", ".join(key.removeprefix("candidates.") for key in each.missing)
                          + " not given", (0, y), xytext=(4, 0), textcoords="offset points", va="center", fontsize=9,
                          color=QUIET)
            continue
        is_reference = each.name == reference
        colour = REFERENCE if is_reference else PATH
        axes.plot(each.conductor_loss_range_db, [y, y], color=colour, linewidth=2.4, solid_capstyle="butt", zorder=2)
        axes.plot(each.conductor_loss_db, y, "D" if is_reference else "o", color=colour, markersize=7.5, zorder=3)
        axes.annotate(f"{each.conductor_loss_db:.2f}", (each.conductor_loss_db, y), xytext=(0, 7),
                      textcoords="offset points", ha="center", fontsize=9, color=INK, zorder=4)
    return [Line2D([], [], color=PATH, marker="o", linewidth=2.4, label="expected, and the range of what is uncertain"),
            Line2D([], [], color=REFERENCE, marker="D", linewidth=2.4, label="the reference")]


def frequency_strip_figure(curves: LossCurves, measured_mhz: float | None = None, axes: Axes | None = None) -> Axes:
    """Draw the same wires from 1.8 to 30 MHz, the band of the measurement marked.

    Parameters
    ----------
    curves : LossCurves
        From `loss_curves`; each element is cut for its frequency.
    measured_mhz : float, optional
        The plan's frequency: measured here, calculated there.
    axes : Axes, optional
        Where to draw; left out: a fresh figure.

    Returns
    -------
    Axes
        Frequency across (logarithmic), loss in dB up, one line a candidate with its range as a band.
    """
    with house_style():
        axes = axes if axes is not None else new_axes(8.0, 4.6)
        for column, name in enumerate(curves.names[:_LINES_AT_MOST]):
            colour, dash = _COLOURS[column % len(_COLOURS)], _DASHES[(column // len(_COLOURS) + column) % len(_DASHES)]
            axes.fill_between(curves.frequency_mhz, curves.low_db[:, column], curves.high_db[:, column], color=colour,
                              alpha=0.14, linewidth=0)
            axes.plot(curves.frequency_mhz, curves.loss_db[:, column], color=colour, linestyle=dash, linewidth=2,
                      label=wrapped(name))
        axes.set_xscale("log")
        axes.set_xlim(float(curves.frequency_mhz.min()), float(curves.frequency_mhz.max()))
        axes.set_xticks(BANDS_MHZ, [f"{band:g}" for band in BANDS_MHZ])
        axes.minorticks_off()
        axes.set_ylim(bottom=0.0)
        if len(curves.names) > _LINES_AT_MOST:
            axes.annotate(f"the first {_LINES_AT_MOST} of {len(curves.names)} wires", (0.98, 0.97), fontsize=9,
                          xycoords="axes fraction", ha="right", va="top", color=QUIET)
        if measured_mhz is not None:
            _mark_measured(axes, measured_mhz)
        axes.set_xlabel("frequency in MHz (the element cut for each)")
        axes.set_ylabel("expected loss in the wire, dB")
        if curves.names:
            axes.fill_between([], [], color=QUIET, alpha=0.2, linewidth=0, label="shade of a line's colour: its range")
            axes.figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return axes


def band_curves(plan: Plan) -> LossCurves:
    """Return what each wire of a plan should lose over the HF bands."""
    return loss_curves(plan, np.geomspace(*HF_MHZ, _FREQUENCIES))


def plan_bands_figure(plan: Plan, axes: Axes | None = None) -> Axes:
    """Draw a plan's wires from 1.8 to 30 MHz."""
    return frequency_strip_figure(band_curves(plan), plan.radio.frequency_mhz, axes)


def _mark_measured(axes: Axes, measured_mhz: float) -> None:
    """Mark the measured band and say what the rest is."""
    axes.axvspan(measured_mhz * 0.97, measured_mhz * 1.03, color=BAND, zorder=0)
    axes.annotate("measured here", (measured_mhz, 1.0), xycoords=("data", "axes fraction"), xytext=(0, 4),
                  textcoords="offset points", ha="center", va="bottom", fontsize=9, color=INK)
    to_left = measured_mhz > np.sqrt(HF_MHZ[0] * HF_MHZ[1])
    axes.annotate("calculated there", (0.02 if to_left else 0.98, 1.0), xycoords="axes fraction", xytext=(0, 4),
                  textcoords="offset points", ha="left" if to_left else "right", va="bottom", fontsize=9, color=QUIET)


def gap_budget_figure(names: tuple[str, ...], shares: dict[str, tuple[np.ndarray, np.ndarray]],
                      measured_db: np.ndarray, measured_se_db: np.ndarray, axes: Axes | None = None) -> Axes:
    """Draw measured gaps as stacks of their shares.

    Parameters
    ----------
    names : tuple of str, length n
        The candidates, in the order of the arrays.
    shares : dict of str to (ndarray, ndarray), shape (n,), dB
        Share and its standard uncertainty by name, from `GapBudget.shares`; NaN is not drawn.
    measured_db, measured_se_db : ndarray, shape (n,), dB
        The measured gaps, drawn as marks over the stacks.
    axes : Axes, optional
        Where to draw; left out: a fresh figure.

    Returns
    -------
    Axes
        Gap in dB across; shares that weaken grow to the left, those that strengthen to the right.
    """
    labels = [wrapped(name) for name in names]
    with house_style():
        axes = axes if axes is not None else new_axes(REPORT_WIDTH_IN, 1.4 + row_pitch_in(labels, 0.42) * len(names))
        left, right = np.zeros(len(names)), np.zeros(len(names))
        for name, (share, _) in shares.items():
            value = np.where(np.isnan(share), 0.0, share)
            start = np.where(value < 0, left, right)
            label, colour, hatch = _SHARES[name]
            axes.barh(range(len(names)), value, left=start, height=0.5, label=label, zorder=2, color=colour,
                      hatch=hatch, edgecolor="white")
            left, right = left + np.minimum(value, 0.0), right + np.maximum(value, 0.0)
        axes.errorbar(measured_db, range(len(names)), xerr=2 * np.asarray(measured_se_db), fmt="D", color=INK,
                      markersize=6, capsize=3, zorder=3, label=f"measured; whiskers: {chr(0xB1)} 2 standard errors")
        axes.axvline(0.0, color=INK, linewidth=1.2, zorder=1)
        axes.set_yticks(range(len(names)), labels)
        axes.set_ylim(len(names) - 0.4, -0.6)
        axes.grid(axis="y", visible=False)
        axes.set_xlabel(f"gap to the reference in dB ({MINUS} weaker, + stronger)")
        axes.figure.legend(loc="outside lower center", ncols=2, frameon=False, fontsize=9)
    return axes
