"""Every code block and command of README and docs runs, page by page, in a folder of its own.

How a page says what its blocks are (HTML comments, invisible to readers, on the line before the block):

- nothing: a ``sh`` block's ``antexp …`` lines and a ``python`` block run, in the order of the page;
- ``<!-- file: NAME -->``: the block is written to that file;
- ``<!-- prepare: demo -->`` on a line of its own: the demonstration's folder ``antexp-demo`` is put there;
- ``<!-- prepare: examples -->`` likewise: a copy of the folder ``examples``;
- ``<!-- says -->`` before a ``text`` block: what the ``sh`` or ``python`` block before it printed, whole;
  ``<!-- says: WORDS -->``: from the first line that holds the words to the next empty line;
- ``<!-- shown: REASON -->``: the block is shown only, and why it cannot run.

``ANTEXP_WRITE_PAGES=1 python -m pytest tests/docs/test_pages_run.py`` writes what was said into the pages; read the
difference before committing it.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import shutil
from dataclasses import dataclass
from pathlib import Path

import pytest

from antexp.demo.run import run_demo

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
_FENCE = re.compile(r"^```(\S*)[^\n]*\n(.*?)^```\s*$", re.MULTILINE | re.DOTALL)
WRITE = bool(os.environ.get("ANTEXP_WRITE_PAGES"))
_SETUP = re.compile(r"python3 -m venv|pip install|git clone|-m pytest|\.ci/run")


@dataclass(frozen=True)
class Block:
    """One fenced block of a page."""

    line: int
    language: str
    text: str
    mark: str
    span: tuple[int, int] = (0, 0)


def blocks_of(path: Path) -> list[Block]:
    """Cut a page into its fenced blocks, with the comment before each."""
    page = path.read_text(encoding="utf-8")
    found = []
    for match in _FENCE.finditer(page):
        before = page[: match.start()].rstrip("\n").rsplit("\n", 1)[-1]
        mark = re.fullmatch(r"\s*<!--\s*(.*?)\s*-->\s*", before)
        line = page[: match.start()].count("\n") + 1
        found.append(Block(line, match[1], match[2], mark[1] if mark else "", match.span(2)))
    return found


def commands_of(block: Block) -> list[list[str]]:
    """Return the antexp commands of a shell block as words."""
    joined = block.text.replace("\\\n", " ")
    found = []
    for line in joined.splitlines():
        for part in line.split("&&"):
            words = shlex.split(part, comments=True)
            if words and Path(words[0]).name == "antexp":
                found.append(words[1:])
            elif words and not _SETUP.search(part):
                raise AssertionError(f"a shell block holds something this test cannot run: {part.strip()}")
    return found


@pytest.fixture(scope="module")
def demo_folder(tmp_path_factory) -> Path:
    return run_demo(tmp_path_factory.mktemp("pages") / "antexp-demo").folder


def run_antexp(words: list[str], monkeypatch: pytest.MonkeyPatch) -> tuple[int, str]:
    from antexp.cli.main import run

    monkeypatch.setattr("sys.argv", ["antexp", *words])
    monkeypatch.setenv("COLUMNS", "80")
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            run()
            status = 0
        except SystemExit as stop:
            status = int(stop.code or 0)
    return status, said.getvalue()


def part_said(said: str, mark: str) -> str:
    """Return what a ``says`` block is to hold: all that was said, or the part that its mark names."""
    lines = [line.rstrip() for line in said.splitlines()]
    words = mark.partition(": ")[2]
    if words:
        first = next((number for number, line in enumerate(lines) if words in line), None)
        assert first is not None, f"nothing said holds {words!r}:\n{said}"
        lines = lines[first:]
        lines = lines[: lines.index("")] if "" in lines else lines
    return "\n".join(lines).strip("\n") + "\n"


def run_block(block: Block, place: str, names: dict[str, object], monkeypatch: pytest.MonkeyPatch) -> str:
    """Run a block and return what it printed."""
    if block.language == "python":
        heard = io.StringIO()
        with contextlib.redirect_stdout(heard):
            exec(compile(block.text, place, "exec"), names)
        return heard.getvalue()
    told = ""
    for words in commands_of(block):
        status, said = run_antexp(words, monkeypatch)
        assert status == 0, f"{place}: antexp {' '.join(words)}\n{said}"
        told += said
    return told


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_page_runs(page: Path, demo_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    text = page.read_text(encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    if "<!-- prepare: demo -->" in text:
        shutil.copytree(demo_folder, tmp_path / "antexp-demo")
    if "<!-- prepare: examples -->" in text:
        shutil.copytree(ROOT / "examples", tmp_path / "examples")
    names: dict[str, object] = {"__name__": "__page__"}
    said = ""
    fresh: list[tuple[tuple[int, int], str]] = []
    for block in blocks_of(page):
        place = f"{page.relative_to(ROOT)}, line {block.line}"
        if block.mark.startswith("file: "):
            Path(block.mark.removeprefix("file: ")).write_text(block.text, encoding="utf-8")
        elif block.mark.startswith("shown: "):
            continue
        elif block.mark == "says" or block.mark.startswith("says: "):
            fresh.append((block.span, part_said(said, block.mark)))
            assert WRITE or block.text == fresh[-1][1], f"{place}: this is said now:\n{fresh[-1][1]}"
        elif block.language in ("sh", "python"):
            said = run_block(block, place, names, monkeypatch)
        elif block.language in ("toml", "csv", "text"):
            raise AssertionError(f"{place}: say with a comment whether this block is a file, what was said, or shown")
    if WRITE:
        for (start, end), now in reversed(fresh):
            text = text[:start] + now + text[end:]
        page.write_text(text, encoding="utf-8")


def test_the_harness_finds_blocks_and_marks(tmp_path):
    page = tmp_path / "page.md"
    block, command = "<!-- file: a.toml -->\n```toml\nx = 1\n```\n", "```sh\nantexp judge a \\\n  b  # why\n```\n"
    page.write_text(f"text\n\n{block}\n{command}", "utf-8")
    first, second = blocks_of(page)
    assert (first.mark, first.text, first.line) == ("file: a.toml", "x = 1\n", 4)
    assert commands_of(second) == [["judge", "a", "b"]]
    with pytest.raises(AssertionError, match="cannot run"):
        commands_of(Block(1, "sh", "rm -r x\n", ""))


def test_a_says_block_holds_the_part_it_names():
    told = "one  \n\n two and\n three\n\nfour\n"
    assert part_said(told, "says") == "one\n\n two and\n three\n\nfour\n"
    assert part_said(told, "says: two") == " two and\n three\n"
    with pytest.raises(AssertionError, match="nothing said holds 'five'"):
        part_said(told, "says: five")
