"""How results show themselves in a notebook: what draws them registers here, so that no room imports a later one.

The report room registers a drawing function for each kind of result under a plain name; a result that inherits
`Viewable` finds them by its own class name. Nothing is drawn, and nothing heavy imported, before somebody asks.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

_PICTURES: dict[str, dict[str, tuple[Callable[..., Any], Callable[[Any], bool]]]] = {}
_PAGES: dict[str, Callable[[Any], str]] = {}


def register_picture(
    kind: str, name: str, draw: Callable[..., Any], has: Callable[[Any], bool] = lambda _: True
) -> None:
    """Let results of a kind be drawn under a name.

    Parameters
    ----------
    kind : str
        Class name of the result.
    name : str
        Name of the picture.
    draw : callable
        Takes the result, and optionally axes; returns matplotlib axes.
    has : callable
        Takes the result; tells whether it has this picture. Left out: every result of the kind has.
    """
    _PICTURES.setdefault(kind, {})[name] = (draw, has)


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
        """Names of the pictures that `picture` can draw of this result."""
        known = _PICTURES.get(type(self).__name__, {})
        return tuple(name for name, (_, has) in known.items() if has(self))

    def picture(self, name: str, axes: Any = None) -> Any:
        """Draw one picture of this result.

        Parameters
        ----------
        name : str
            One of `pictures`.
        axes : matplotlib Axes, optional
            Where to draw; left out: a fresh figure.

        Raises
        ------
        ValueError
            When there is no such picture.
        """
        known = self.pictures
        if name not in known:
            raise ValueError(f"no such picture: got {name!r}; allowed: {', '.join(known) or 'none'}")
        draw, _ = _PICTURES[type(self).__name__][name]
        return draw(self, axes)

    def _repr_html_(self) -> str | None:
        """Return what a notebook shows; None leaves it to the plain form."""
        page = _PAGES.get(type(self).__name__)
        return page(self) if page else None
