"""Warnings as data: each has a code that scripts can rely on and a text in plain words.

Every code that antexp can utter stands in `CODES` with its meaning, so that the reference page of the
documentation can be made from the code, and a code nobody explained cannot be used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

CODES: dict[str, str] = {
    "one-specimen-each": "Every candidate, or one in a gap, has a single specimen: the gap concerns these "
    "specimens, not the material in general.",
    "few-specimens": "There are several specimens, but too few to say how specimens of a candidate differ.",
    "one-reading-per-swap": "Every swap has one reading: re-hanging scatter and reading scatter are one number.",
    "drift-form-not-as-planned": "The judgement used another form of drift than the plan declared.",
    "order-not-as-planned": "The record's swaps are not those of the order file.",
    "tied-to-time": "A candidate stood mostly early or mostly late, so that drift and gap can hardly be told apart.",
    "tied-to-place": "A candidate hung mostly in one place: its wire and that support can hardly be told apart.",
    "idle-antenna-near": "With several places an antenna that hangs idle within a wavelength changes the level of the "
    "other.",
    "swap-scatter-at-zero": "The readings within a swap scatter as much as the swaps do; the limits rest on the "
    "scatter between swaps alone.",
    "few-degrees-of-freedom": "Three or fewer swaps are left over to judge the scatter by: the limits are wide "
    "and lean on assumptions.",
    "small-block": "A block has too few swaps for the form of drift asked for and carries a simpler one.",
    "coarse-meter": "The step of the meter is coarse beside the scatter of its readings.",
    "ranges-know-less": "Readings were judged as ranges, by a model without the wandering path, the receivers' own "
    "part of a swap, or the scatter of specimens; the text says what was done instead.",
    "all-readings-equal": "Every reading is the same: the spread is below the meter's step and nothing can be told.",
    "no-interval": "For some gap the record gives no trustworthy limits.",
    "several-receivers": "Several receivers took part; they repeat the reading, not the hanging.",
    "two-days": "Two days cannot show how days differ: nothing is called real on the two together.",
    "one-day-only": "A comparison that only one of several days tells of is left out.",
    "days-differ": "Days differ by more than their own errors.",
    "same-specimens": "The same specimens hung on all days: the gaps are about these.",
    "receivers-disagree": "Receivers do not see the same gaps.",
    "receivers-scatter-unlike": "Readings of one receiver scatter much more than another's.",
    "noise-taken-off": "The power of the noise was taken off every level.",
    "signal-in-noise": "A reading lies so near the noise that gaps look smaller than they are.",
    "looks-planned": "The plan names looks before the end; limits at the end are wider for it, and allowed for here.",
    "planned-look": "The record was judged at a look that the plan names; its limits allow for all of them.",
    "unplanned-look": "A part-filled record was judged; stopping because of it makes the confidence too good.",
    "looks-counted": "The record was looked at before without a plan for it.",
    "longer-than-planned": "The record holds more blocks than planned; adding some because of what a judgement said "
    "makes the confidence too good.",
    "drift-form-not-enough": "The residuals show drift that the declared form leaves over: a bend, wander or a jump.",
    "unequal-scatter": "One candidate's hangings scatter more than the others'.",
    "rests-on-equal-scatter": "A verdict holds only if all wires scatter alike.",
    "carry-over": "The level seems to depend on which wire hung before.",
    "odd-swap": "One swap lies far from what the others say of it.",
    "second-family": "A verdict against the best of the others rests on a second family of limits.",
    "no-matter-db": "No gap that matters was stated, so the judgement cannot say whether a gap matters.",
    "times-from-swap-numbers": "The readings have no times and there is no order file: the swaps are taken as evenly "
    "spaced by their numbers.",
    "rows-left-out": "Rows with keep = 0 are left out of the judgement.",
    "words-out-of-step": "A check word of the readings is not the order's for that swap: the two ends may be out "
    "of step.",
    "signs-mixed": "Levels of both signs lie far apart: a minus sign may have been lost.",
    "physics-silent": "The plan does not say enough about a candidate's metal for physics to expect anything of it.",
    "mismatch-larger-than-gap": "Candidates are expected to differ more by mismatch than by their metal.",
    "resonates-short": "The reactance inside a lossy wire makes it resonate short: it needs a length of its own.",
    "cover-not-in-physics": "Loss in a cover is not part of the expectation; a cover also shortens the resonant wire.",
    "low-dipole": "The dipole hangs so low that its radiation resistance is uncertain.",
    "bench-height": "A resonance was measured at another height than that of the test, or at one not noted.",
    "analyser-behind-line": "A resonance was measured behind a line, where the analyser does not see the feed.",
    "far-from-target": "An antenna resonates so far from the plan's frequency that it may be the wrong one.",
    "not-measured": "Some specimens have no measured resonance; their length is one to begin with.",
    "mistuned": "Left as they are, the antennas differ by mistuning in a way that would look like a gap.",
    "range-not-stated": "The plan leaves out what would be needed to judge the range.",
    "in-near-field": "The ends are less than a wavelength apart: the antennas load each other.",
    "short-of-far-field": "The distance is shorter than the far field asks for.",
    "too-noisy": "The signal is expected so close to the noise that readings say little.",
    "noisy": "The signal is expected close enough to the noise that single readings scatter by it.",
    "reading-sd-below-floor": "The planned scatter of readings is less than noise alone makes.",
    "step-hides-gap": "The meter's step is much coarser than the gap that matters and does not average out.",
    "coarse-step": "The meter's step is coarser than the gap that matters.",
    "near-null": "Direct and reflected ray nearly cancel at the planned heights and distance.",
    "steep-with-height": "The level changes steeply with height.",
    "rehang-sd-below-geometry": "The planned re-hanging scatter is less than geometry alone makes.",
    "sag-goes-with-wire": "A heavier wire hangs lower at every hanging, which makes a gap that repeats do not remove.",
    "pulled-too-hard": "The planned pull is a large part of a wire's breaking load.",
    "places-too-close": "Places are so close that an idle antenna is a parasitic element of the one in use.",
    "readings-outside-hanging": "By the clocks of the two ends, readings were taken while their swap was not up.",
    "log-swap-too-short": "A swap was up for less time than settles at its two ends; the log gives no reading of it.",
    "log-without-samples": "The log has no samples in a part of a swap.",
    "log-bursts": "More than one sample in a thousand of a swap lies far off the others, as interference does.",
    "never-enough": "No number of blocks up to 200 notices the gap that matters with the wanted chance.",
    "rehearsal-disagrees": "The closed form of a chance and its rehearsal differ by more than two points and chance.",
    "order-for-these-specimens": "What the order announces holds for the specimens that hang; the judgement will be "
    "about any specimen, with wider limits.",
    "order-takes-walk-as-known": "What the order announces takes the path's walk as planned; the judgement estimates "
    "it, with wider limits.",
    "specimens-unseen": "With one specimen each, the scatter between specimens is in every gap and cannot be seen.",
    "gap-not-explained": "What mismatch, metal, height and sag do not explain of a gap is larger than its uncertainty: "
    "look at crimps, length, height and common-mode current before the metal.",
    "mismatch-decides": "A gap gets another verdict once mismatch is taken out: it is about trim or matching.",
    "bench-not-in-record": "The bench book measures candidates that do not occur in the record.",
    "column-not-used": "A column is passed through unused though its name is nearly that of a known one.",
}


def named_gap(candidate: str, against: str) -> str:
    """Name a gap in a sentence; the marks tell names with commas apart."""
    return f"“{candidate}” against “{against}”"


@dataclass(frozen=True)
class Notice:
    """One warning.

    Attributes
    ----------
    code : str
        A key of `CODES`.
    text : str
        What it means for this plan or record, in plain words.
    gaps : tuple of (str, str)
        The gaps it is about, where it is about some of them: candidate, against.
    """

    code: str
    text: str
    gaps: tuple[tuple[str, str], ...] = ()

    def __post_init__(self) -> None:
        """Refuse a code that nobody explained."""
        if self.code not in CODES:
            raise KeyError(f"warning code {self.code!r} is not in antexp.notices.CODES")

    def to_dict(self) -> dict[str, Any]:
        """Return the notice as the results file holds it; without gaps, where it names none."""
        told = {"code": self.code, "text": self.text}
        return told | {"gaps": [list(pair) for pair in self.gaps]} if self.gaps else told
