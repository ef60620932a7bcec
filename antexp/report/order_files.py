"""The order's files with its picture beside them."""

from __future__ import annotations

import os
from pathlib import Path

from antexp.design.order_document import Order
from antexp.design.order_file import companions, order_files
from antexp.files import write_all_whole
from antexp.report.order_figures import order_figure
from antexp.report.pictures import as_png


def write_order_and_picture(order: Order, path: str | os.PathLike[str]) -> tuple[Path, ...]:
    """Write the order file, the reading end's file, the recipe and the picture, all or none.

    Parameters
    ----------
    order : Order
    path : path-like
        The order file; ``order.png`` stands beside the other companions. The picture names the candidates: it is not
        for the reading end.

    Returns
    -------
    tuple of Path
        Order file, reading end's file, recipe, picture.
    """
    files = order_files(order, path)
    picture = Path(path).with_suffix(".png")
    write_all_whole({**files, picture: as_png(order_figure(order))})
    return Path(path), *companions(path), picture
