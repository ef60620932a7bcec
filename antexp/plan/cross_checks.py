"""Checks of a plan that look at several values together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from unicodedata import normalize

from antexp.plan.faults import Found, at
from antexp.plan.model import Candidate, Field, Radio
from antexp.plan.nearest import nearest
from antexp.plan.source import Source


def check_names(names: Mapping[int, str], count: int, reference: Any, source: Source) -> list[Found]:
    """Check that there is something to compare, that names are apart, and that the reference is one of them.

    Parameters
    ----------
    names : mapping of int to str
        The names that could be read, by position.
    count : int
        How many candidates the plan has.
    reference : object
        As written; None where left out.
    """
    found: list[Found] = []
    path = ("candidates",)
    if count < 2:
        found.append(at(source, path, "there is one candidate only" if count else "there is no candidate",
                        list(names.values()), "two or more", "Name what it is to be compared with."))
    first: dict[str, int] = {}
    for number, name in names.items():
        bare = "".join(normalize("NFKC", name).split()).casefold()
        if bare not in first:
            first[bare] = number
            continue
        earlier = names[first[bare]]
        what = "two candidates have the same name" if earlier == name else (
            f'two candidates differ only in blanks or capitals: "{earlier}" is there already')
        found.append(at(source, (*path, number, "name"), what, name, do="Give each a name of its own."))
    return found + _check_reference(names, reference, source)


def _check_reference(names: Mapping[int, str], reference: Any, source: Source) -> list[Found]:
    """Check that the reference is a candidate."""
    if reference is None or reference in list(names.values()):
        return []
    allowed = "the name of a candidate: " + ", ".join(f'"{name}"' for name in list(names.values())[:12])
    near = nearest(reference, names.values()) if isinstance(reference, str) else None
    return [at(source, ("reference",), "reference is not a candidate", reference, allowed,
               f'Did you mean "{near}"?' if near else "")]


def check_candidate(number: int, candidate: Candidate, blocks: int | None, reference: str | None,
                    source: Source) -> list[Found]:
    """Check the values of one candidate against each other, the number of blocks and the reference's name."""
    path = ("candidates", number)
    found: list[Found] = []
    coating = candidate.coating
    if coating and candidate.diameter_mm and coating.thickness_um >= 500 * candidate.diameter_mm:
        found.append(at(source, (*path, "coating", "thickness_um"), "the coating is thicker than the wire's radius",
                        coating.thickness_um, f"less than {500 * candidate.diameter_mm:g} (diameter_mm is "
                        f"{candidate.diameter_mm:g}, coating included)", "Is the thickness in micrometres?"))
    if candidate.insulation_permittivity is not None and candidate.insulation_mm is None:
        found.append(at(source, (*path, "insulation_permittivity"), "insulation_permittivity without insulation_mm",
                        candidate.insulation_permittivity, do="Say how thick the cover is: insulation_mm."))
    if candidate.swr is not None and candidate.feed_ohm is not None:
        found.append(at(source, (*path, "swr"), "swr beside feed_ohm", candidate.swr,
                        do="Keep feed_ohm, which says more."))
    late = [block for block in candidate.available_in_blocks or () if blocks and block > blocks]
    if late:
        found.append(at(source, (*path, "available_in_blocks"), "available_in_blocks names a block that is not planned",
                        late[0], f"1 to {blocks}"))
    if candidate.available_in_blocks and candidate.name == reference:
        found.append(at(source, (*path, "available_in_blocks"), "the reference has to be available in every block",
                        list(candidate.available_in_blocks), do="Leave the key out, or choose another reference."))
    if candidate.available_in_blocks == ():
        found.append(at(source, (*path, "available_in_blocks"), "the candidate is available in no block", [],
                        do="Leave the key out for all blocks, or take the candidate out."))
    found += _check_metal(path, candidate.material, candidate.resistivity_ohm_m, candidate.relative_permeability,
                          source)
    if coating:
        layer = (*path, "coating")
        found += _check_metal(layer, coating.material, coating.resistivity_ohm_m, coating.relative_permeability,
                              source)
        if coating.material is None and coating.resistivity_ohm_m is None:
            found.append(at(source, layer, "the coating has no material", do="Name its metal: material."))
    return found


def _check_metal(path: tuple[str | int, ...], material: str | None, resistivity: float | None,
                 permeability: float | None, source: Source) -> list[Found]:
    """Check that a metal is given in one way: by its name, or by its numbers."""
    if material is not None and (resistivity is not None or permeability is not None):
        key = "resistivity_ohm_m" if resistivity is not None else "relative_permeability"
        return [at(source, (*path, key), f"{key} beside a material's name",
                   resistivity if resistivity is not None else permeability,
                   do="Keep material, or replace it by resistivity_ohm_m and relative_permeability.")]
    if permeability is not None and resistivity is None and material is None:
        return [at(source, (*path, "relative_permeability"), "relative_permeability without resistivity_ohm_m",
                   permeability, do="Give both, or the material's name.")]
    return []


def check_radio(radio: Radio, stated: frozenset[str], source: Source) -> list[Found]:
    """Check ground and ground loss against each other and against the element."""
    found: list[Found] = []
    numbers = [key for key in ("permittivity", "conductivity_s_per_m") if getattr(radio, key) is not None]
    if radio.ground is not None and numbers:
        found.append(at(source, ("radio", "ground"), "ground is given by name and by numbers", radio.ground,
                        do="Keep the name, or permittivity and conductivity_s_per_m."))
    if len(numbers) == 1:
        other = "permittivity" if numbers[0] != "permittivity" else "conductivity_s_per_m"
        found.append(at(source, ("radio", numbers[0]), f"{numbers[0]} without {other}", getattr(radio, numbers[0]),
                        do="Give both, or the ground's name."))
    if "radio.ground_loss_ohm" in stated and radio.element == "half-wave dipole" and radio.ground_loss_ohm > 0:
        found.append(at(source, ("radio", "ground_loss_ohm"), "ground_loss_ohm belongs to a vertical",
                        radio.ground_loss_ohm, do='Write element = "quarter-wave vertical", or leave the loss out.'))
    return found


def check_field(field: Field, stated: frozenset[str], source: Source) -> list[Found]:
    """Check that blocks, hours and swaps fit one another."""
    found: list[Found] = []
    if field.hours is not None and field.sittings is not None:
        found.append(at(source, ("field", "hours"), "hours beside sittings", field.hours,
                        do="Keep one: the sittings say how many hours there are."))
    late = [block for block in field.may_stop_after if field.blocks and block > field.blocks]
    if late:
        found.append(at(source, ("field", "may_stop_after"), "may_stop_after names a block that is not planned",
                        late[0], f"1 to {field.blocks}"))
    return found + _check_capacity(field, stated, source)


def _check_capacity(field: Field, stated: frozenset[str], source: Source) -> list[Found]:
    """Check that every block and sitting has time for two swaps."""
    two = 2 * field.minutes_per_swap
    need = f"at least {two:g} minutes, which is two swaps of {field.minutes_per_swap:g} (minutes_per_swap)"
    compare = "A block compares, so it needs two swaps or more."
    short = [number for number, sitting in enumerate(field.sittings or ()) if sitting.minutes < two]
    found = [at(source, ("field", "sittings", number), "the sitting holds fewer than two swaps",
                str((field.sittings or ())[number]), need, compare) for number in short]
    if field.hours is not None and field.sittings is None and field.hours * 60 < two:
        return [at(source, ("field", "hours"), "the hours hold fewer than two swaps", field.hours, need, compare)]
    shared = bool(field.blocks) and bool(field.stretches) and "field.block_minutes" not in stated
    if field.block_minutes < two and not shared:
        key = "block_minutes" if "field.block_minutes" in stated else "minutes_per_swap"
        what = f"a block of {field.block_minutes:g} minutes holds fewer than two swaps"
        found.append(at(source, ("field", key), what, getattr(field, key), need, compare))
    most = sum(int(minutes / two + 1e-9) for minutes in field.stretches)
    if field.blocks and field.stretches and most < field.blocks and not short:
        what = f"{field.blocks} blocks do not fit {sum(field.stretches):g} minutes"
        found.append(at(source, ("field", "blocks"), what, field.blocks, f"at most {most}", compare))
    return found


def longest_blocks(minutes: Sequence[float], blocks: int) -> float:
    """Return how long blocks of one length can be when so many are to fit into stretches of time."""
    parts = sorted({length / count for length in minutes for count in range(1, blocks + 1)}, reverse=True)
    return next(part for part in parts if sum(int(length / part + 1e-9) for length in minutes) >= blocks)
