"""Everything that goes to the field, written beside the order file in one go."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from antexp.field.entry_page import entry_pages
from antexp.field.facts import facts_of, find_plan
from antexp.field.run_sheet import paper_files
from antexp.field.swap_list import companion_path, read_swap_list
from antexp.files import make_folder, write_all_whole

WHAT = {
    "hanging-sheet.html": "paper for the hanging end, with names",
    "reading-sheet.html": "paper for the reading end, without names",
    "card.html": "card to take along: crew, talk, packing, permissions",
    "hanging-page.html": "page for the hanging end's telephone, with names",
    "reading-page.html": "page for the reading end's telephone, without names",
}


@dataclass(frozen=True)
class Companions:
    """What was written.

    Attributes
    ----------
    files : dict of str to str
        Path and what it is.
    assumed : tuple of str
        What was taken for granted.
    """

    files: dict[str, str]
    assumed: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return the document that ``antexp sheet --json`` prints."""
        return {"files": [{"path": path, "what": what} for path, what in self.files.items()],
                "assumptions": list(self.assumed)}


def write_companions(
    order: str | os.PathLike[str], plan: str | os.PathLike[str] | None = None,
    folder: str | os.PathLike[str] | None = None,
) -> Companions:
    """Write the sheets, the card and the two pages.

    Parameters
    ----------
    order : path-like
        The order file; from the reading end's file only what has no names is made.
    plan : path-like, optional
        Left out: the plan file beside the order that the order was made from, if it is there.
    folder : path-like, optional
        Where to; beside the order when left out.

    Raises
    ------
    InputError
        When the order or the plan cannot be read, or a file cannot be written; then none is.
    """
    swaps = read_swap_list(order)
    facts = facts_of(find_plan(swaps, plan))
    pages = {**paper_files(swaps, facts), **entry_pages(swaps, facts)}
    place = Path(order) if folder is None else make_folder(folder) / Path(order).name
    targets: dict[str | os.PathLike[str], str | bytes] = {companion_path(place, name): text
                                                          for name, text in pages.items()}
    write_all_whole(targets)
    return Companions({str(companion_path(place, name)): WHAT[name] for name in pages}, facts.assumed)
