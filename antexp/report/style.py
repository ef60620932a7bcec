"""One look for all pictures: colours that colour-blind readers tell apart, and a shape for each verdict."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from textwrap import wrap

import matplotlib as mpl
import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from antexp.mixed.verdict import CANNOT_TELL, NO_GAP_THAT_MATTERS, REAL_AND_MATTERS, REAL_MAY_MATTER, REAL_TOO_SMALL

# The colour-blind palette of seaborn, by name, and two that it lacks: a green for letters and a grey for open marks.
BLUE, ORANGE, GREEN, VERMILION = "#0173b2", "#de8f05", "#029e73", "#d55e00"
PINK, BROWN, SKY, GREY = "#cc78bc", "#ca9161", "#56b4e9", "#949494"
DEEP_GREEN, OPEN_GREY = "#01694d", "#6f6f6f"

INK = "#22303c"
QUIET = "#8a96a3"
BAND = "#e4e8ec"
PATH = BLUE
REFERENCE = INK
MATTER = GREY
REPORT_WIDTH_IN = 5.8
"""Width of the report's pictures: their text can be read on a phone, where they fill the screen."""

GAPS_AT_MOST = 66
"""Rows that a picture of gaps can hold: all pairs of twelve candidates."""


@dataclass(frozen=True)
class Mark:
    """How a verdict is drawn.

    Attributes
    ----------
    marker : str
        Matplotlib marker, so that the verdicts differ by shape too.
    colour : str
        Of line and marker.
    filled : bool
        Whether the marker is filled: filled means the gap is real.
    """

    marker: str
    colour: str
    filled: bool


MARKS: dict[str, Mark] = {
    REAL_AND_MATTERS: Mark("D", VERMILION, True),
    REAL_MAY_MATTER: Mark("o", ORANGE, True),
    REAL_TOO_SMALL: Mark("s", BLUE, True),
    NO_GAP_THAT_MATTERS: Mark("s", GREEN, False),
    CANNOT_TELL: Mark("o", OPEN_GREY, False),
}


@contextmanager
def house_style() -> Iterator[None]:
    """Set the house style for the time of drawing."""
    settings = {
        "font.size": 10.5,
        "axes.labelcolor": INK,
        "text.color": INK,
        "xtick.color": INK,
        "ytick.color": INK,
        "axes.edgecolor": QUIET,
        "svg.hashsalt": "antexp",
        "text.parse_math": False,  # a name may hold dollar signs
        "figure.dpi": 100,
    }
    with sns.axes_style("whitegrid"), mpl.rc_context(settings):
        yield


def new_axes(width_in: float, height_in: float) -> Axes:
    """Return the axes of a fresh figure that no window manager keeps alive."""
    figure = Figure(figsize=(width_in, height_in), layout="constrained")
    FigureCanvasAgg(figure)
    axes: Axes = figure.subplots()
    return axes


# A short word after a number is its unit ("1.5 mm"), and "×" belongs to both its sides ("7 × 0.3 mm").
_HELD_TOGETHER = re.compile(r"(?<=\d) (?=[^\W\d]{1,3}\b|[°%Ω×])|(?<=×) (?=\d)")
_NO_BREAK = "\u00a0"


def wrapped(name: str, width: int = 26) -> str:
    """Break a long name into lines for a label, and a very long word too; a number keeps its unit beside it."""
    lines = wrap(_HELD_TOGETHER.sub(_NO_BREAK, name), width, break_long_words=True)
    return "\n".join(lines).replace(_NO_BREAK, " ") or name


def row_pitch_in(labels: Sequence[str], least_in: float) -> float:
    """Return the distance of rows, inches, at which no wrapped label touches the next one.

    Parameters
    ----------
    labels : sequence of str
        From `wrapped`, in the order of the rows.
    least_in : float
        What the marks of a row need.
    """
    lines = [label.count("\n") + 1 for label in labels]
    fullest = max(((one + other) / 2 for one, other in pairwise(lines)), default=1.0)
    return max(least_in, 0.18 * fullest + 0.06)  # a line of the house style's letters is 0.175 inches high
