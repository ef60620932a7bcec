"""The commented plan that a user begins with."""

from __future__ import annotations

import os
from importlib.resources import files

from antexp.errors import Fault, FileError
from antexp.files import write_whole


def starter_plan() -> str:
    """Return a commented plan in the long form, valid as it stands, its scenario invented."""
    return files("antexp.plan").joinpath("starter.toml").read_text(encoding="utf-8")


def write_starter(path: str | os.PathLike[str]) -> None:
    """Write the commented plan to a file that is not there yet.

    Parameters
    ----------
    path : path-like
        The new file; its folder must exist.

    Raises
    ------
    FileError
        When something stands there already, or the file cannot be written.
    """
    refuse_existing(path)
    write_whole(path, starter_plan())


def refuse_existing(path: str | os.PathLike[str]) -> None:
    """Raise a FileError when something stands there already: a new plan overwrites nothing."""
    if os.path.lexists(path):
        raise FileError(Fault("there is something of that name already, and a new plan overwrites nothing", str(path),
                              do="Choose another name, or move it away."))
