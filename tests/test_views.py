"""How results show themselves: what is registered for a kind is what it can draw, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from antexp import views


@dataclass(frozen=True)
class Day(views.Viewable):
    """An invented result."""

    hours: int


class Night(views.Viewable):
    """A kind that nobody draws."""


@pytest.fixture(autouse=True)
def registered(monkeypatch):
    monkeypatch.setattr(views, "_PICTURES", {})
    monkeypatch.setattr(views, "_PAGES", {})
    views.register_picture("Day", "hours", lambda day, axes: ("hours", day, axes))
    views.register_picture("Day", "dusk", lambda day, axes: ("dusk", day, axes), has=lambda day: day.hours > 12)
    views.register_page("Day", lambda day: f"<p>{day.hours} h</p>")


def test_a_result_offers_the_pictures_that_it_has():
    assert Day(16).pictures == ("hours", "dusk")
    assert Day(8).pictures == ("hours",)
    assert Night().pictures == ()


def test_a_picture_is_drawn_from_the_result_where_it_was_asked():
    axes = object()
    assert Day(16).picture("dusk", axes) == ("dusk", Day(16), axes)
    assert Day(8).picture("hours") == ("hours", Day(8), None)


@pytest.mark.parametrize(
    ("result", "name", "allowed"),
    [(Day(8), "dusk", "hours"), (Day(16), "dawn", "hours, dusk"), (Night(), "hours", "none")],
)
def test_no_such_picture_says_which_there_are(result, name, allowed):
    with pytest.raises(ValueError, match=f"^no such picture: got '{name}'; allowed: {allowed}$"):
        result.picture(name)


def test_a_picture_registered_again_takes_the_place_of_the_old():
    views.register_picture("Day", "hours", lambda day, axes: "again")
    assert Day(8).picture("hours") == "again" and Day(8).pictures == ("hours",)


def test_a_notebook_gets_the_page_or_the_plain_form():
    assert Day(8)._repr_html_() == "<p>8 h</p>"
    assert Night()._repr_html_() is None  # a notebook then shows what print shows
