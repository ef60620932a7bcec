"""Pictures as files, each as SVG and PNG, together with what belongs to them."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from matplotlib.axes import Axes

from antexp.files import write_folder
from antexp.report.pictures import as_png, as_svg


def write_pictures(
    folder: str | os.PathLike[str], pictures: Mapping[str, Axes], besides: Mapping[str, str] | None = None
) -> tuple[Path, ...]:
    """Write pictures and other files into a folder, all or none.

    Parameters
    ----------
    folder : path-like
        Made when missing.
    pictures : mapping of str to Axes
        By the name of their files, without ending.
    besides : mapping of str to str, optional
        Other files by their name.

    Returns
    -------
    tuple of Path
        The other files first.

    Raises
    ------
    FileError
        When the folder cannot be made or written to; then nothing in it was changed.
    """
    contents: dict[str, str | bytes] = dict(besides or {})
    for name, axes in pictures.items():
        contents |= {f"{name}.svg": as_svg(axes), f"{name}.png": as_png(axes)}
    return write_folder(folder, contents)
