"""How results show themselves in a notebook: what draws them registers here, so that no room imports a later one.

The report room registers a drawing function for each kind of result under a plain name; a result that inherits
`Viewable` finds them by its own class name. Nothing is drawn, and nothing heavy imported, before somebody asks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_PICTURES: dict[str, dict[str, Callable[..., Any]]] = {}
_PAGES: dict[str, Callable[[Any], str]] = {}


def register_picture(kind: str, name: str, draw: Callable[..., Any]) -> None:
    """Let results of a kind be drawn under a name.

    Parameters
    ----------
    kind : str
        Class name of the result.
    name : str
        Name of the picture.
    draw : callable
        Takes the result, and optionally axes; returns matplotlib axes.
    """
    _PICTURES.setdefault(kind, {})[name] = draw


def register_page(kind: str, page: Callable[[Any], str]) -> None:
    """Let results of a kind be shown by a notebook as HTML.

    Parameters
    ----------
    kind : str
        Class name of the result.
    page : callable
        Takes the result, returns HTML.
    """
    _PAGES[kind] = page


class Viewable:
    """A result that can be drawn and that a notebook shows richly."""

    @property
    def pictures(self) -> tuple[str, ...]:
        """Names of the pictures that `picture` can draw."""
        return tuple(_PICTURES.get(type(self).__name__, {}))

    def picture(self, name: str, axes: Any = None) -> Any:
        """Draw one picture of this result.

        Parameters
        ----------
        name : str
            One of `pictures`.
        axes : matplotlib Axes, optional
            Where to draw; left out: a fresh figure.

        Returns
        -------
        matplotlib Axes

        Raises
        ------
        ValueError
            When there is no such picture.
        """
        known = _PICTURES.get(type(self).__name__, {})
        if name not in known:
            raise ValueError(f"no such picture: got {name!r}; allowed: {', '.join(known) or 'none'}")
        return known[name](self, axes)

    def _repr_html_(self) -> str | None:
        """Return what a notebook shows; None leaves it to the plain form."""
        page = _PAGES.get(type(self).__name__)
        return page(self) if page else None
