"""The documentation builds into a site without a warning; no link in it is broken, and it needs no network."""

from __future__ import annotations

import re
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote

import pytest

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md")),
         *sorted((ROOT / "examples").rglob("*.md"))]


class Page(HTMLParser):
    """What a built page names, links to, and loads."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: set[str] = set()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.pictures_without_words: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        self.ids |= {given[name] for name in ("id", "name") if name in given}
        if tag == "a" and "href" in given:
            self.links.append(given["href"])
        elif tag in ("script", "img", "iframe", "source") and "src" in given:
            self.loads.append(given["src"])
        elif tag == "link" and given.get("rel") in ("stylesheet", "icon", "preload"):
            self.loads.append(given["href"])
        if tag == "img" and not given.get("alt"):
            self.pictures_without_words.append(given["src"])


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("docs")
    words = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html", "-d", str(place / "trees")]
    ran = subprocess.run([*words, str(ROOT / "docs"), str(place / "site")], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    assert (place / "site" / "index.html").exists()
    return place / "site"


def test_every_link_and_anchor_of_the_site_leads_somewhere(site: Path):
    pages = {path: Page(path.read_text(encoding="utf-8")) for path in site.rglob("*.html")}
    assert len(pages) > 30
    broken = []
    for path, page in pages.items():
        for link in page.links:
            if re.match(r"[a-z]+:", link):
                continue
            file, _, anchor = link.partition("#")
            target = (path.parent / unquote(file)).resolve() if file else path
            target = target / "index.html" if target.is_dir() else target
            if not target.exists() or (anchor and unquote(anchor) not in pages[target].ids):
                broken.append(f"{path.relative_to(site)}: {link}")
    assert not broken


def test_the_site_loads_nothing_from_elsewhere_and_its_pictures_have_words(site: Path):
    for path in site.rglob("*.html"):
        page = Page(path.read_text(encoding="utf-8"))
        for load in page.loads:
            assert not re.match(r"[a-z]+:|//", load), f"{path.name} loads {load}"
            assert (path.parent / unquote(load.partition("?")[0])).exists(), f"{path.name} lacks {load}"
        assert not page.pictures_without_words, path.name
    style = site / "_static" / "pages.css"
    assert [name for name in re.findall(r"url\(\"(.*?)\"\)", style.read_text("utf-8"))] == ["math.woff"]
    assert (style.parent / "math.woff").exists()


def slugs(path: Path) -> set[str]:
    """Return the anchors that a Markdown page's headings get."""
    text = re.sub(r"^```.*?^```\s*$", "", path.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    plain = [re.sub(r"[`*]|\]\([^)]*\)|\[", "", head).strip().lower() for head in re.findall(r"^#+ (.*)$", text, re.M)]
    return {re.sub(r"[^\w\- ]", "", head).replace(" ", "-") for head in plain}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_files_and_headings_that_pages_point_at_are_there(page: Path):
    text = re.sub(r"^```.*?^```\s*$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    for target in re.findall(r"\]\(([^)\s]+)", text):
        if "://" in target:
            continue
        file, _, anchor = target.partition("#")
        there = next((each for each in (page.parent / file, page.parent / f"{file}.md") if each.exists()), None)
        there = page if not file else there
        assert there is not None, target
        assert not anchor or anchor in slugs(there), target
