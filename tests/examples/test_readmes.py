"""Each invented scenario's README shows the truth beside the judgement, as judged now.

``ANTEXP_WRITE_PAGES=1 python -m pytest tests/examples/test_readmes.py`` writes the tables; read the difference.
"""

from __future__ import annotations

import json
import os
import re
from pathlib import Path

import pytest

import antexp

EXAMPLES = Path(__file__).parents[2] / "examples"
NAMES = sorted(path.parent.name for path in EXAMPLES.glob("*/truth.json"))
_TABLE = re.compile(r"(<!-- truth -->\n)(.*?)(<!-- end -->)", re.DOTALL)


def truth_table(folder: Path) -> str:
    """Judge a scenario and lay its truth beside what is judged."""
    expected = json.loads((folder / "expected.json").read_text(encoding="utf-8"))
    truth = json.loads((folder / "truth.json").read_text(encoding="utf-8"))
    result = antexp.judge(folder / "readings.csv", folder / "plan.toml", folder / expected["order"])
    lines = ["| wire | true gap | judged gap | its limits | verdict |", "|---|---|---|---|---|"]
    for row in result.family.itertuples():
        true = truth["gaps_of_these_specimens_db" if row.scope == "these specimens" else "gaps_db"][row.candidate]
        numbers = [f"{value:+.2f}".replace("-", "−") for value in (true, row.gap_db, *row.interval_db)]
        lines.append(f"| {row.candidate} | {numbers[0]} | {numbers[1]} | {numbers[2]} … {numbers[3]} | {row.verdict} |")
    return "\n".join([*lines, ""])


@pytest.mark.parametrize("name", NAMES)
def test_the_truth_stands_beside_the_judgement(name: str):
    page = EXAMPLES / name / "README.md"
    text = page.read_text(encoding="utf-8")
    assert "invented" in text.splitlines()[0] and _TABLE.search(text)
    now = f"\n{truth_table(page.parent)}\n"
    if os.environ.get("ANTEXP_WRITE_PAGES"):
        page.write_text(_TABLE.sub(lambda found: found[1] + now + found[3], text), encoding="utf-8")
    else:
        assert _TABLE.search(text)[2] == now


def test_every_folder_has_a_readme_and_the_list_names_it():
    listed = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    for plan in EXAMPLES.glob("*/plan.toml"):
        assert (plan.parent / "README.md").is_file() and f"]({plan.parent.name}/README.md)" in listed
    assert len(NAMES) >= 4
