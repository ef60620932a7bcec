"""The report as paper: three pages at most for everybody, the statistician's part on a last one of its own."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest

from antexp.analysis.judge import judge
from antexp.demo.run import run_demo
from antexp.report.write import write_report

_CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
_EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

pytestmark = pytest.mark.skipif(not (_CHROMIUM and shutil.which("pdftotext")),
                                reason="printing needs Chromium and poppler's pdftotext")


def _printed(page: Path, folder: Path) -> list[str]:
    """Print a page as a reader would, and return the words on each sheet."""
    pdf = folder / "printed.pdf"
    subprocess.run([_CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
                    "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri()],
                   check=True, capture_output=True, timeout=120)
    text = subprocess.run(["pdftotext", str(pdf), "-"], check=True, capture_output=True, text=True).stdout
    return [" ".join(sheet.split()) for sheet in text.split("\f") if sheet.strip()]


@pytest.mark.parametrize("day", ["demo", "clear-differences", "coarse-meter", "two-receivers"])
def test_three_pages_at_most_and_one_for_the_statistician(day, tmp_path):
    folder = _EXAMPLES / day
    if day == "demo":
        folder = tmp_path / "day"
        run_demo(folder)
    judgement = judge(folder / "readings.csv", plan=folder / "plan.toml", order=folder / "order.csv",
                      second_opinions=True)
    assert judgement.second_opinions  # the fullest page that such a day makes
    sheets = _printed(write_report(judgement, tmp_path / "out"), tmp_path)
    assert 2 <= len(sheets) <= 4
    *everybody, last = sheets
    assert last.startswith("For the statistician") and "Provenance" in last and "seed of the order" in last
    assert "p adjusted" in last and not any("p adjusted" in sheet for sheet in everybody)
    assert "What next" in everybody[0] or "What next" in everybody[1]
