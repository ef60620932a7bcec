"""Every code block and command of README and docs runs, page by page, in a folder of its own.

How a page says what its blocks are (HTML comments, invisible to readers, on the line before the block):

- nothing: a ``sh`` block's ``antexp …`` lines and a ``python`` block run, in the order of the page;
- ``<!-- file: NAME -->``: the block is written to that file;
- ``<!-- prepare: demo -->`` on a line of its own: the demonstration's folder ``antexp-demo`` is put there;
- ``<!-- shown: REASON -->``: the block is shown only, and why it cannot run.
"""

from __future__ import annotations

import contextlib
import io
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
_SETUP = re.compile(r"python3 -m venv|pip install|git clone|-m pytest|\.ci/run")


@dataclass(frozen=True)
class Block:
    """One fenced block of a page."""

    line: int
    language: str
    text: str
    mark: str


def blocks_of(path: Path) -> list[Block]:
    """Cut a page into its fenced blocks, with the comment before each."""
    page = path.read_text(encoding="utf-8")
    found = []
    for match in _FENCE.finditer(page):
        before = page[: match.start()].rstrip("\n").rsplit("\n", 1)[-1]
        mark = re.fullmatch(r"\s*<!--\s*(.*?)\s*-->\s*", before)
        line = page[: match.start()].count("\n") + 1
        found.append(Block(line, match[1], match[2], mark[1] if mark else ""))
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
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            run()
            status = 0
        except SystemExit as stop:
            status = int(stop.code or 0)
    return status, said.getvalue()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_page_runs(page: Path, demo_folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    blocks = blocks_of(page)
    monkeypatch.chdir(tmp_path)
    if "<!-- prepare: demo -->" in page.read_text(encoding="utf-8"):
        shutil.copytree(demo_folder, tmp_path / "antexp-demo")
    names: dict[str, object] = {"__name__": "__page__"}
    for block in blocks:
        place = f"{page.relative_to(ROOT)}, line {block.line}"
        if block.mark.startswith("file: "):
            Path(block.mark.removeprefix("file: ")).write_text(block.text, encoding="utf-8")
        elif block.mark.startswith("shown: "):
            continue
        elif block.language == "sh":
            for words in commands_of(block):
                status, said = run_antexp(words, monkeypatch)
                assert status == 0, f"{place}: antexp {' '.join(words)}\n{said}"
        elif block.language == "python":
            with contextlib.redirect_stdout(io.StringIO()):
                exec(compile(block.text, place, "exec"), names)
        elif block.language in ("toml", "csv"):
            raise AssertionError(f"{place}: say with a comment whether this block is a file or only shown")


def test_the_harness_finds_blocks_and_marks(tmp_path):
    page = tmp_path / "page.md"
    page.write_text("text\n\n<!-- file: a.toml -->\n```toml\nx = 1\n```\n\n```sh\nantexp judge a \\\n  b  # why\n```\n", "utf-8")
    first, second = blocks_of(page)
    assert (first.mark, first.text, first.line) == ("file: a.toml", "x = 1\n", 4)
    assert commands_of(second) == [["judge", "a", "b"]]
    with pytest.raises(AssertionError, match="cannot run"):
        commands_of(Block(1, "sh", "rm -r x\n", ""))
