"""The pages as files: complete in themselves, nothing of the wires at the reading end, nothing that can run."""

import base64
import hashlib
import json
import re
from html.parser import HTMLParser

import pytest

from antexp.field.entry_page import entry_pages, json_in_html
from antexp.field.facts import facts_of
from antexp.field.swap_list import read_swap_list
from antexp.plan.reader import plan_from_dict

NASTY = ["</script><script>window.hacked = 1</script>", '<img src=x onerror="window.hacked = 1">',
         '"><svg onload=alert(1)>', "{{ 7 * 7 }}", "&lt;b&gt; \u2028 wire"]


class Parsed(HTMLParser):
    """Elements with their attributes, and the text of scripts and styles."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.scripts, self.styles, self._in = [], [], [], None
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self._in = tag if tag in ("script", "style") else self._in
        if tag == "script":
            self.scripts.append("")
        if tag == "style":
            self.styles.append("")

    def handle_endtag(self, tag):
        self._in = None if tag == self._in else self._in

    def handle_data(self, data):
        if self._in == "script":
            self.scripts[-1] += data
        elif self._in == "style":
            self.styles[-1] += data


@pytest.fixture
def pages(swaps, facts):
    return entry_pages(swaps, facts)


def test_nothing_is_loaded_from_anywhere(pages):
    for text in pages.values():
        parsed = Parsed(text)
        assert not [tag for tag, attributes in parsed.tags if {"src", "href", "action"} & set(attributes)]
        assert not [tag for tag, _ in parsed.tags if tag in ("link", "img", "iframe", "object", "embed", "base")]
        assert not re.search(r"https?://|//[a-z]+\.|@import|url\(|fetch\(|XMLHttpRequest|WebSocket|sendBeacon|import\(",
                             text)


def test_only_the_pages_own_script_may_run_by_its_policy(pages):
    # W3C Content Security Policy Level 3: the digest of an inline script's text, sha256, base64
    for text in pages.values():
        parsed = Parsed(text)
        policy = next(a["content"] for tag, a in parsed.tags if a.get("http-equiv") == "Content-Security-Policy")
        data, script = parsed.scripts
        digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        style = base64.b64encode(hashlib.sha256(parsed.styles[0].encode()).digest()).decode()
        assert policy == (f"default-src 'none'; script-src 'sha256-{digest}'; style-src 'sha256-{style}'; "
                          "base-uri 'none'; form-action 'none'")
        assert json.loads(data)["swaps"][0]["word"] == "banner"
        assert not [a for _, a in parsed.tags if any(name.startswith("on") or name == "style" for name in a)]


def test_no_name_stands_anywhere_in_the_reading_ends_page(pages, swaps):
    text = pages["reading-page.html"].lower()
    for word in ("willow", "birch", "cedar", "hazel", "specimen\"", "candidate\":", "\"role\": \"reference"):
        assert word not in text
    assert "birch wire" in pages["hanging-page.html"]


def test_the_title_of_the_plan_may_name_wires_and_stays_with_the_hanging_end(swaps):
    plan = plan_from_dict({"title": "Is birch better?", "candidates": ["willow wire", "birch wire"]})
    assert "birch" not in entry_pages(swaps, facts_of(plan))["reading-page.html"].lower()


def test_a_plan_that_is_not_blind_lets_the_reading_end_know(swaps):
    plan = plan_from_dict({"candidates": ["willow wire", "birch wire"], "field": {"blind": False}})
    assert "birch wire" in entry_pages(swaps, facts_of(plan))["reading-page.html"]


def test_without_names_there_is_the_reading_ends_page_alone(order_csv, facts, pages):
    bare = entry_pages(read_swap_list(order_csv.with_name("order.reading-end.csv")), facts)
    assert list(bare) == ["reading-page.html"]
    # the same page as from the order, so that either end may make it
    assert bare["reading-page.html"].replace("order.reading-end", "order") == pages["reading-page.html"].replace(
        "order.reading-end", "order")


@pytest.mark.parametrize("name", NASTY)
def test_no_name_can_end_the_script_it_stands_in(name):
    text = str(json_in_html({"name": name}))
    assert json.loads(text) == {"name": name}
    assert not re.search("[<>&\u2028]", text)


def test_the_cautions_stand_on_both_pages(pages):
    for text in pages.values():
        assert "dummy load" in text and "Overhead lines" in text and "thunder" in text
