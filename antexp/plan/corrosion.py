"""What weather does to a wire where it will live: the corrosivity of a place, and how long its layers last."""

from __future__ import annotations

import re
from dataclasses import dataclass

from antexp.plan.candidate import Candidate
from antexp.radio.constants import Constant

CATEGORIES = ("C1", "C2", "C3", "C4", "C5", "CX")
"""Corrosivity of an atmosphere, ISO 9223."""

LONGEST_YEARS = 20.0
"""How far the law of ISO 9224 holds; beyond it antexp says only "more than"."""

_ISO_9223 = "ISO 9223:2012, table 2, first-year loss"
_ISO_9224 = "ISO 9224:2012, loss goes with (years)^b"


def _losses(metal: str, edges_um: tuple[float, ...]) -> dict[str, Constant]:
    """Return the first-year loss of a metal by category."""
    ends = zip(CATEGORIES, (0.0, *edges_um[:-1]), edges_um, strict=True)
    return {name: Constant(f"corrosion: {metal} in {name}, first year", (low + high) / 2, low, high, "µm", _ISO_9223,
                           "from memory") for name, low, high in ends}


FIRST_YEAR_LOSS: dict[str, dict[str, Constant]] = {
    "steel": _losses("carbon steel", (1.3, 25.0, 50.0, 80.0, 200.0, 700.0)),
    "zinc": _losses("zinc", (0.1, 0.7, 2.1, 4.2, 8.4, 25.0)),
    "copper": _losses("copper", (0.1, 0.6, 1.3, 2.8, 5.6, 10.0)),
}
"""Loss of thickness in the first year, by metal and category."""

TIME_EXPONENT: dict[str, Constant] = {
    metal: Constant(f"corrosion: {metal}, exponent of time", value, value, value, "", _ISO_9224, "from memory")
    for metal, value in (("steel", 0.523), ("zinc", 0.813), ("copper", 0.667))
}
"""How the loss slows down with the years, by metal."""

CORROSION_CONSTANTS = (*(each for metal in FIRST_YEAR_LOSS.values() for each in metal.values()),
                       *TIME_EXPONENT.values())
"""What this module takes from outside."""

# ISO 9223, annex C (informative), in our words and from memory: what kind of place is of which category.
_PLACES: tuple[tuple[str, str, str], ...] = (
    (r"spray|offshore|boat|ship|surf", "C5", "CX"),
    (r"sea|sea-?side|coast\w*|shore|beach|dyke|dike|harbou?r|marine|island|dune\w*|cliff", "C4", "C5"),
    (r"industr\w*|factor\w*|works|chemical\w*|motorway|de-?icing", "C4", "C5"),
    (r"town|city|cities|urban|suburb\w*|street|roof", "C3", "C4"),
    (r"rural|country\w*|meadow|orchard|field|garden|inland|village|farm|wood\w*|forest", "C2", "C3"),
    (r"desert|dry|mountain\w*|arctic", "C2", "C2"),
    (r"indoors?|attic|loft|house|inside|barn|shed", "C1", "C2"),
)

_WORDS = {
    "copper": "Copper darkens and then keeps.",
    "tin": "Tin keeps copper bright for soldering; where it is worn off, copper shows and keeps.",
    "silver": "Silver tarnishes; the tarnish matters little.",
    "brass": "Brass can crack under pull where there is ammonia, as on farms, and loses zinc by the sea.",
    "phosphor bronze": "Phosphor bronze keeps well, by the sea too.",
    "aluminium": "Aluminium pits by the sea, and where it touches copper it goes within a few winters: join it with "
                 "clamps made for the two metals, greased.",
    "zinc": "",
    "iron": "Bare iron rusts from the first rain on.",
    "steel": "Bare steel rusts from the first rain on.",
    "welding steel": "Its thin copper wash does not keep the rain off: it rusts.",
    "stainless": "Stainless keeps, but chloride pits it by the sea; 316 holds out longer than 304.",
}
"""Common practice, no source."""


@dataclass(frozen=True)
class CorrosionNote:
    """What is to be expected of a wire where it will live.

    Attributes
    ----------
    place : str or None
        The user's words.
    low, high : str or None
        Corrosivity of such a place, from … to, as ISO 9223 names it; None when nobody can tell.
    text : str
        The note, in one to three sentences; empty without a material.
    years : tuple of float or None
        How long the layer, or a bare steel wire to half its section, lasts at the high and at the low end; None
        where no figure applies. `LONGEST_YEARS` stands for that and more.
    """

    place: str | None
    low: str | None
    high: str | None
    text: str
    years: tuple[float, float] | None = None


def corrosivity(place: str | None) -> tuple[str, str] | None:
    """Return the range of corrosivity categories of a place described in words, or None when they say too little.

    A category itself may be written too: ``"C3"``, ``"C3 to C4"``. Of several kinds of place in one text the harshest
    counts.
    """
    if place is None:
        return None
    named = sorted(re.findall(r"\bC[1-5X]\b", place), key=CATEGORIES.index)
    if named:
        return named[0], named[-1]
    return next(((low, high) for words, low, high in _PLACES if re.search(rf"\b(?:{words})\b", place.lower())), None)


def years_to_lose(metal: str, thickness_um: float, category: str) -> tuple[float, float]:
    """Return how many years a thickness lasts, at the high and at the low end of a category's losses.

    Parameters
    ----------
    metal : str
        "steel", "zinc" or "copper".
    thickness_um : float, µm
    category : str

    Returns
    -------
    tuple of float, years
        (thickness / first-year loss)^(1/b), at most `LONGEST_YEARS`.
    """
    loss, power = FIRST_YEAR_LOSS[metal][category], 1.0 / TIME_EXPONENT[metal].value
    ends = [(thickness_um / rate) ** power if rate > 0 else LONGEST_YEARS for rate in (loss.high, loss.low)]
    return min(ends[0], LONGEST_YEARS), min(ends[1], LONGEST_YEARS)


def corrosion_note(candidate: Candidate) -> CorrosionNote:
    """Say what weather will do to a candidate where it will live.

    Parameters
    ----------
    candidate : Candidate
        Its material, coating and `lives_where` count; nothing is guessed from its name.
    """
    place, ends = candidate.lives_where, corrosivity(candidate.lives_where)
    mildest, harshest = ends or (None, None)
    if candidate.material is None:
        return CorrosionNote(place, mildest, harshest, "")
    parts, years = _layer(candidate, ends) if candidate.coating else _bare(candidate, ends)
    if place and ends is None:
        parts.append(f"How harsh “{place}” is antexp does not know: say C1 to C5 (ISO 9223) in lives_where.")
    if candidate.insulation_mm is not None:
        parts.insert(0, "Its cover keeps the rain off the metal as long as it is whole; most plastics age in the sun.")
    return CorrosionNote(place, mildest, harshest, " ".join(part for part in parts if part), years)


def _layer(candidate: Candidate, ends: tuple[str, str] | None) -> tuple[list[str], tuple[float, float] | None]:
    """Return sentences and years for a coated wire."""
    coating, core = candidate.coating, str(candidate.material)
    assert coating is not None
    rusts = core in ("iron", "steel", "welding steel")
    metal = coating.material
    layer = metal if metal in FIRST_YEAR_LOSS else None
    parts = [_WORDS.get(metal or "", "")] if not rusts else []
    if not rusts or layer is None:
        return parts, None
    years = None
    if ends is not None:
        years = (years_to_lose(layer, coating.thickness_um, ends[1])[0],
                 years_to_lose(layer, coating.thickness_um, ends[0])[1])
        parts.append(f"{coating.thickness_um:g} µm of {metal} {_last(years)} there ({_categories(ends)}).")
    parts.append("After that the steel rusts." if metal == "zinc" else
                 "Where it is cut or nicked the steel rusts at once: seal the ends.")
    return parts, years


def _bare(candidate: Candidate, ends: tuple[str, str] | None) -> tuple[list[str], tuple[float, float] | None]:
    """Return sentences and years for a wire of one metal."""
    material = str(candidate.material)
    parts = [_WORDS.get("copper" if material == "hard-drawn copper" else material, "")]
    if material not in ("iron", "steel") or ends is None or candidate.diameter_mm is None:
        return parts, None
    half_section_um = candidate.diameter_mm * 1e3 / 2 * (1 - 0.5**0.5)
    if candidate.strands > 1:  # each strand rusts by itself; its diameter is at most that of a full circle of them
        half_section_um /= candidate.strands**0.5
    years = (years_to_lose("steel", half_section_um, ends[1])[0], years_to_lose("steel", half_section_um, ends[0])[1])
    parts.append(f"Half its section {_last(years)} there ({_categories(ends)}).")
    return parts, years


def _last(years: tuple[float, float]) -> str:
    """Write how long something lasts."""
    if years[0] >= LONGEST_YEARS:
        return f"lasts more than {LONGEST_YEARS:.0f} years"
    low, high = (f"{value:.0f}" for value in years)
    if years[1] >= LONGEST_YEARS:
        return f"lasts {low} years or more" if years[0] >= 1 else "may last less than a year"
    if years[0] < 1:
        return "lasts less than a year" if years[1] < 1 else f"lasts less than 1 to about {high} years"
    return f"lasts about {low} years" if low == high else f"lasts about {low} to {high} years"


def _categories(ends: tuple[str, str]) -> str:
    """Write a range of categories."""
    return f"ISO 9223 {ends[0]}" if ends[0] == ends[1] else f"ISO 9223 {ends[0]} to {ends[1]}"
