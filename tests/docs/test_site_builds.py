"""The documentation builds into a site without a warning, so that no link inside it is broken."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]


def test_the_site_builds_without_a_warning(tmp_path):
    words = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html", "-d", str(tmp_path / "trees")]
    ran = subprocess.run([*words, str(ROOT / "docs"), str(tmp_path / "site")], capture_output=True, text=True)
    assert ran.returncode == 0, ran.stderr
    assert (tmp_path / "site" / "index.html").exists()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_files_that_pages_point_at_are_there(page: Path):
    text = re.sub(r"^```.*?^```\s*$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    for target in re.findall(r"\]\(([^)#\s]+)", text):
        if "://" not in target:
            assert (page.parent / target).exists() or (page.parent / f"{target}.md").exists(), target
