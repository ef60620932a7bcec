"""The plan as data: what is compared, with what, in which hours and how sure the answer is to be.

The models are frozen and have the keys of the plan file. They only check; the shapes that a plan file may
take are brought into theirs by `antexp.plan.long_form`, and the door for users is `antexp.plan.reader`.
"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, PlainValidator, model_validator

from antexp.plan import unit_guesses as guesses
from antexp.plan.quantities import (
    LONGEST_NAME,
    impedance,
    line_of_text,
    number,
    refuse,
    sitting_list,
    whole,
    whole_list,
    word,
    yes_or_no,
)
from antexp.plan.sittings import Sitting
from antexp.plan.words import (
    COMPARES,
    DRIFTS,
    ELEMENTS,
    GROUNDS,
    MATERIALS,
    NOISES,
    POLARISATIONS,
    SCALES,
    SWAP_ENDS,
    Compare,
    Drift,
    Element,
    Ground,
    Material,
    Noise,
    Polarisation,
    Scale,
    SwapEnd,
)

MOST_BLOCKS = 200
MOST_SPECIMENS = 99

_MATERIAL = word(MATERIALS)
_RESISTIVITY = number(1e-9, 1e-3, "ohm metre", guess=guesses.ohm_metres)
_PERMEABILITY = number(0.9, 1e5)
_SPREAD = number(0, 30, "dB")
_LABEL = line_of_text(LONGEST_NAME, label=True)

COMMON_GROUND_LOSS_OHM = 12.0  # common practice, no source: 4 to 25 ohm for a few to many radials

SCALE_DEFAULTS: dict[str, dict[str, float]] = {
    # common practice, no source: what a step and a scatter usually are on each scale
    "S units": {"step_db": 6.0, "reading_sd_db": 1.5},
    "attenuator": {"step_db": 1.0, "reading_sd_db": 0.5},
}


class _Frozen(BaseModel):
    """A table of the plan: no unknown keys, no changes."""

    model_config = ConfigDict(frozen=True, extra="forbid")


class Coating(_Frozen):
    """A metal layer on a wire.

    Attributes
    ----------
    material : str or None
        One of `antexp.plan.words.MATERIALS`.
    thickness_um : float
        How thick it is, in micrometres.
    resistivity_ohm_m, relative_permeability : float or None
        Instead of a material's name.
    """

    material: Annotated[Material | None, _MATERIAL] = None
    thickness_um: Annotated[float, number(0, 5000, "micrometres", above=True, guess=guesses.micrometres)]
    resistivity_ohm_m: Annotated[float | None, _RESISTIVITY] = None
    relative_permeability: Annotated[float | None, _PERMEABILITY] = None


class Candidate(_Frozen):
    """One thing that is compared.

    Attributes
    ----------
    name : str
        What people call it; unique within the plan, blanks and capitals not counted.
    material : str or None
        The metal, one of `antexp.plan.words.MATERIALS`; with a coating, that of the core. Never guessed.
    diameter_mm : float or None
        Outside of the metal, coating included, millimetres.
    coating : Coating or None
        A metal layer on the core.
    strands : int
        1 for solid wire.
    insulation_mm : float or None
        How thick the cover is, millimetres; None for bare wire.
    insulation_permittivity : float or None
        Relative permittivity of the cover.
    specimens : int
        How many antennas are made of it.
    feed_ohm : complex or None
        Measured feed impedance, ohms.
    swr : float or None
        Measured standing wave ratio, where no impedance is known.
    resistivity_ohm_m, relative_permeability : float or None
        Instead of a material's name.
    price_per_m : float or None
        In the user's currency.
    mass_g_per_m : float or None
        Grams per metre.
    breaking_load_n : float or None
        Newtons.
    lives_where : str or None
        Where it will hang for years, in the user's words.
    available_in_blocks : tuple of int or None
        The blocks in which it can be hung; None for all.
    repeats : int
        How many times as often as an ordinary candidate it is hung.
    """

    name: Annotated[str, _LABEL]
    material: Annotated[Material | None, _MATERIAL] = None
    diameter_mm: Annotated[float | None, number(0.01, 50, "millimetres", guess=guesses.millimetres)] = None
    coating: Coating | None = None
    strands: Annotated[int, whole(1, 10_000)] = 1
    insulation_mm: Annotated[float | None, number(0, 50, "millimetres", above=True)] = None
    insulation_permittivity: Annotated[float | None, number(1, 100)] = None
    specimens: Annotated[int, whole(1, MOST_SPECIMENS)] = 1
    feed_ohm: Annotated[complex | None, impedance()] = None
    swr: Annotated[float | None, number(1, 100)] = None
    resistivity_ohm_m: Annotated[float | None, _RESISTIVITY] = None
    relative_permeability: Annotated[float | None, _PERMEABILITY] = None
    price_per_m: Annotated[float | None, number(0, 1e6)] = None
    mass_g_per_m: Annotated[float | None, number(0, 1e5, "grams per metre", above=True)] = None
    breaking_load_n: Annotated[float | None, number(0, 1e7, "newtons", above=True)] = None
    lives_where: Annotated[str | None, line_of_text()] = None
    available_in_blocks: Annotated[tuple[int, ...] | None, whole_list(1, MOST_BLOCKS)] = None
    repeats: Annotated[int, whole(1, 20)] = 1

    @property
    def specimen_labels(self) -> tuple[str, ...]:
        """Return the labels of its specimens, ``"1"``, ``"2"`` and so on, named within the candidate."""
        return tuple(str(number) for number in range(1, self.specimens + 1))


class Question(_Frozen):
    """What is asked and how sure the answer is to be.

    Attributes
    ----------
    compare : str
        ``"reference"``: each against it; ``"each-other"``: all pairs; ``"best"``: which can still be the best.
    matter_db : float or None
        The smallest gap that would change the user's choice, dB; None where it is not stated, never a silent 1.
    confidence : float
        For all comparisons together.
    chance : float
        The wanted probability of noticing a true gap of matter_db.
    """

    compare: Annotated[Compare, word(COMPARES)] = "reference"
    matter_db: Annotated[float | None, number(0, 100, "dB", above=True)] = None
    confidence: Annotated[float, number(0.5, 0.9999, guess=guesses.confidence)] = 0.95
    chance: Annotated[float, number(0.05, 0.9999, guess=guesses.probability)] = 0.80


class Radio(_Frozen):
    """Band, antenna and path. What is None is not known, and what rests on it stays unsaid.

    Attributes
    ----------
    frequency_mhz : float or None
        The measuring frequency.
    element : str
        ``"quarter-wave vertical"`` or ``"half-wave dipole"``.
    ground_loss_ohm : float
        Vertical: loss in ground and radials, ohms; 0 for a dipole.
    source_impedance_ohm : float
        What the antenna is connected to, ohms.
    swap_end : str
        The end where antennas are exchanged: ``"source"`` or ``"receiver"``.
    distance_m, height_m, receive_height_m : float or None
        Between the ends, and of the two antennas above ground, metres.
    polarisation : str
        ``"vertical"`` or ``"horizontal"``; as the element hangs where it is left out.
    ground : str or None
        A ground of ITU-R P.527.
    permittivity, conductivity_s_per_m : float or None
        Instead of a ground's name.
    source_power_dbm : float or None
        Power of the source.
    noise : str or None
        An environment of ITU-R P.372.
    """

    frequency_mhz: Annotated[float | None, number(0.1, 1000, "MHz", guess=guesses.megahertz)] = None
    element: Annotated[Element, word(ELEMENTS)] = "half-wave dipole"
    ground_loss_ohm: Annotated[float, number(0, 1000, "ohms")] = 0.0
    source_impedance_ohm: Annotated[float, number(0, 10_000, "ohms", above=True)] = 50.0
    swap_end: Annotated[SwapEnd, word(SWAP_ENDS)] = "source"
    distance_m: Annotated[float | None, number(0, 1e7, "metres", above=True)] = None
    height_m: Annotated[float | None, number(0, 1000, "metres")] = None
    receive_height_m: Annotated[float | None, number(0, 1000, "metres")] = None
    polarisation: Annotated[Polarisation, word(POLARISATIONS)] = "horizontal"
    ground: Annotated[Ground | None, word(GROUNDS)] = None
    permittivity: Annotated[float | None, number(1, 100)] = None
    conductivity_s_per_m: Annotated[float | None, number(0, 100, "siemens per metre")] = None
    source_power_dbm: Annotated[float | None, number(-150, 70, "dBm")] = None
    noise: Annotated[Noise | None, word(NOISES)] = None

    @model_validator(mode="before")
    @classmethod
    def _as_the_element_hangs(cls, data: Any) -> Any:
        """Let polarisation and ground loss follow the element where they are left out."""
        if isinstance(data, dict) and data.get("element") == "quarter-wave vertical":
            return {"polarisation": "vertical", "ground_loss_ohm": COMMON_GROUND_LOSS_OHM, **data}
        return data


class Meter(_Frozen):
    """What is read, and how.

    Attributes
    ----------
    scale : str
        One of `antexp.plan.words.SCALES`. Whether the user stated it: ``plan.states("meter.scale")``.
    step_db : float or None
        Step of the display, dB; None where it was not declared.
    bandwidth_hz : float or None
        Noise bandwidth of the receiver, Hz.
    reading_sd_db : float
        Scatter of repeated readings of one swap, standard deviation, dB.
    readings : int
        How many readings a swap gets.
    """

    scale: Annotated[Scale, word(SCALES)] = "dBm"
    step_db: Annotated[float | None, number(0, 20, "dB", above=True)] = None
    bandwidth_hz: Annotated[float | None, number(0, 1e8, "hertz", above=True)] = None
    reading_sd_db: Annotated[float, _SPREAD] = 0.25
    readings: Annotated[int, whole(1, 1000)] = 3

    @model_validator(mode="before")
    @classmethod
    def _as_the_scale_goes(cls, data: Any) -> Any:
        """Let step and scatter follow the scale where they are left out."""
        scale = data.get("scale") if isinstance(data, dict) else None
        return {**SCALE_DEFAULTS[scale], **data} if isinstance(scale, str) and scale in SCALE_DEFAULTS else data


class Field(_Frozen):
    """The hours in the field and how the level moves in them.

    Attributes
    ----------
    blocks : int or None
        How many; None where antexp is to find how many fit the hours or reach the chance.
    hours : float or None
        Of swapping, breaks not counted.
    sittings : tuple of Sitting or None
        Clock times instead of hours.
    block_minutes : float
        How long a block may last.
    minutes_per_swap : float
        From one lowering to the next.
    rehang_sd_db : float
        Scatter between hangings of the same specimen, standard deviation, dB.
    specimen_sd_db : float
        Scatter between specimens of one candidate, standard deviation, dB.
    drift_db_per_hour : float
        Standard deviation of the slope over blocks.
    wander_db_per_sqrt_hour : float
        Random walk of the path.
    drift : str
        The form analysed inside each block: ``"none"``, ``"steady"``, ``"curved"`` or ``"wandering"``.
    reference_every : int or None
        At least one reference swap among so many in a row; None: ends, and inside where the square-root rule asks.
    places : int
        Supports or positions in use.
    place_spacing_m : float or None
        Between neighbouring places, metres.
    tension_n : float or None
        The pull at a wire's end, newtons, where sag is to be known.
    may_stop_after : tuple of int
        Blocks after which a look is planned.
    blind : bool
        Whether the reading end learns no names.
    seed : int
        Of the draw of the order.
    """

    blocks: Annotated[int | None, whole(1, MOST_BLOCKS)] = None
    hours: Annotated[float | None, number(0, 1000, "hours", above=True)] = None
    sittings: Annotated[tuple[Sitting, ...] | None, sitting_list()] = None
    block_minutes: Annotated[float, number(0, 1440, "minutes", above=True)] = 75.0
    minutes_per_swap: Annotated[float, number(0, 600, "minutes", above=True)] = 7.0
    rehang_sd_db: Annotated[float, _SPREAD] = 0.35
    specimen_sd_db: Annotated[float, _SPREAD] = 0.1
    drift_db_per_hour: Annotated[float, _SPREAD] = 0.5
    wander_db_per_sqrt_hour: Annotated[float, _SPREAD] = 0.0
    drift: Annotated[Drift, word(DRIFTS)] = "steady"
    reference_every: Annotated[
        int | None, whole(2, 1000, "Every swap would be a reference with 1; leave the key out for antexp's own rule.")
    ] = None
    places: Annotated[int, whole(1, 20)] = 1
    place_spacing_m: Annotated[float | None, number(0, 10_000, "metres", above=True)] = None
    tension_n: Annotated[float | None, number(0, 1e5, "newtons", above=True)] = None
    may_stop_after: Annotated[tuple[int, ...], whole_list(1, MOST_BLOCKS)] = ()
    blind: Annotated[bool, yes_or_no()] = True
    seed: Annotated[int, whole(0, 2**63 - 1)] = 1

    @property
    def minutes_available(self) -> float | None:
        """Return the minutes of swapping that the hours or the sittings give; None where neither is stated."""
        if self.sittings:
            return float(sum(sitting.minutes for sitting in self.sittings))
        return None if self.hours is None else self.hours * 60

    @property
    def swaps_per_block(self) -> int:
        """Return how many swaps a block can hold."""
        return self.swaps_within(self.block_minutes)

    def swaps_within(self, minutes: float) -> int:
        """Return how many swaps are done within some minutes."""
        return int(minutes / self.minutes_per_swap + 1e-9)  # 0.3 / 0.1 is meant to be 3


class Heading(_Frozen):
    """What stands above the tables.

    Attributes
    ----------
    title : str
        For reports.
    """

    title: Annotated[str, line_of_text()] = "Antenna comparison"


def _is_table_of_candidates(value: Any) -> tuple[Candidate, ...]:
    """Accept at least two candidates."""
    if not (isinstance(value, tuple) and all(isinstance(item, Candidate) for item in value)):
        raise refuse("is not a tuple of Candidate")
    return value


class Plan(_Frozen):
    """A plan, read and checked, every default filled in.

    Attributes
    ----------
    title : str
        For reports.
    reference : str
        The name of the candidate that every block repeats.
    candidates : tuple of Candidate
        In the order of the file.
    question : Question
        What is asked.
    radio : Radio
        Band, antenna and path.
    meter : Meter
        What is read.
    field : Field
        The hours and the spreads.
    assumptions : tuple of str
        Each default that was filled in, as a sentence that begins "I assume".
    stated : frozenset of str
        The keys the user gave, in the long form: ``"field.hours"``.
    sha256 : str
        Digest of the file's bytes; of its content where the plan came from a mapping.
    path : pathlib.Path or None
        The file.
    """

    title: str
    reference: str
    candidates: Annotated[tuple[Candidate, ...], PlainValidator(_is_table_of_candidates)]
    question: Question
    radio: Radio
    meter: Meter
    field: Field
    assumptions: tuple[str, ...] = ()
    stated: frozenset[str] = frozenset()
    sha256: str = ""
    path: Path | None = None

    @property
    def candidate_names(self) -> tuple[str, ...]:
        """Return the candidates' names in the order of the plan."""
        return tuple(candidate.name for candidate in self.candidates)

    @property
    def others(self) -> tuple[str, ...]:
        """Return the names without the reference."""
        return tuple(name for name in self.candidate_names if name != self.reference)

    @property
    def specimens(self) -> dict[str, tuple[str, ...]]:
        """Return the specimen labels of each candidate."""
        return {candidate.name: candidate.specimen_labels for candidate in self.candidates}

    def candidate(self, name: str) -> Candidate:
        """Return the candidate of a name.

        Raises
        ------
        KeyError
            When the plan has none of that name.
        """
        for candidate in self.candidates:
            if candidate.name == name:
                return candidate
        raise KeyError(name)

    def states(self, key: str) -> bool:
        """Return whether the user gave a key, named as in the long form: ``"meter.scale"``."""
        return key in self.stated
