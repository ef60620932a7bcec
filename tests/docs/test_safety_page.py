"""The page on safety says every caution that a plan says."""

from pathlib import Path

import pytest

from antexp.plan.cautions import FEW_WATTS, cautions
from antexp.plan.reader import plan_from_dict

PAGE = Path(__file__).parents[2] / "docs" / "how-to" / "safety.md"


@pytest.mark.parametrize("caution", cautions(plan_from_dict({"candidates": ["a", "b"]})), ids=lambda each: each.about)
def test_every_caution_stands_on_the_page(caution):
    assert caution.text in " ".join(PAGE.read_text(encoding="utf-8").split())


def test_the_power_on_the_page_is_the_one_in_the_code():
    assert f"printed from {FEW_WATTS:g} W on" in PAGE.read_text(encoding="utf-8")
