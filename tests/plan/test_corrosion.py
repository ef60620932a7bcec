"""Corrosion by where a wire will live, against ISO 9223 and 9224 and common knowledge of galvanised steel."""

from itertools import pairwise

import pytest

from antexp.plan.candidate import Candidate
from antexp.plan.corrosion import CATEGORIES, FIRST_YEAR_LOSS, corrosion_note, corrosivity, years_to_lose

ZINCED = {"name": "w", "material": "steel", "diameter_mm": 2, "coating": {"material": "zinc", "thickness_um": 25}}


@pytest.mark.parametrize(("place", "ends"), [
    ("C3", ("C3", "C3")), ("between C4 and C2", ("C2", "C4")), ("a garden by the sea", ("C4", "C5")),
    ("in the attic", ("C1", "C2")), ("Meadow behind a dyke", ("C4", "C5")), ("on a boat", ("C5", "CX")),
    ("my uncle's", None), (None, None), ("research lab", None),
])
def test_words_for_a_place(place, ends):
    assert corrosivity(place) == ends


def test_losses_of_the_standard():
    # ISO 9223:2012 table 2; the column for steel is reprinted widely (1.3 / 25 / 50 / 80 / 200 / 700 µm a year)
    assert [FIRST_YEAR_LOSS["steel"][each].high for each in CATEGORIES] == [1.3, 25, 50, 80, 200, 700]
    for metal in FIRST_YEAR_LOSS.values():
        for low, high in pairwise(CATEGORIES):
            assert metal[low].high == metal[high].low


def test_hot_dip_zinc_outlives_thin_zinc():
    # 85 µm, the coating of structural steel, is known to last decades inland (C3); 5 µm of electroplate does not last
    assert years_to_lose("zinc", 85, "C3")[0] == 20
    assert years_to_lose("zinc", 5, "C5")[0] < 1 < years_to_lose("zinc", 5, "C3")[0] < 5


def test_the_law_of_time_by_hand():
    # (25 µm / 8.4 µm)^(1/0.813) = 2.976^1.230 = 3.82 years; (25/4.2)^1.230 = 8.97
    assert years_to_lose("zinc", 25, "C5") == pytest.approx((3.83, 8.97), abs=0.03)


def test_a_zinc_layer_by_the_sea_says_how_long_and_what_then():
    note = corrosion_note(Candidate(**ZINCED, lives_where="by the sea"))
    assert (note.low, note.high) == ("C4", "C5")
    assert note.years == pytest.approx((3.83, 20.0), abs=0.03)
    assert "25 µm of zinc lasts 4 years or more there (ISO 9223 C4 to C5)" in note.text
    assert "rusts" in note.text


def test_bare_steel_loses_half_its_section():
    note = corrosion_note(Candidate(name="w", material="steel", diameter_mm=0.8, lives_where="C3"))
    # radius 400 µm, half the section gone at 117 µm: (117/50)^(1/0.523) = 5.1 years, (117/25)^1.912 = 19.1
    assert note.years == pytest.approx((5.1, 19.1), abs=0.1)
    stranded = corrosion_note(Candidate(name="w", material="steel", diameter_mm=0.8, strands=7, lives_where="C3"))
    assert stranded.years[0] < note.years[0]


def test_nothing_is_guessed():
    assert corrosion_note(Candidate(name="zinc-coated steel", lives_where="C5")).text == ""
    unknown = corrosion_note(Candidate(name="w", material="aluminium", lives_where="my uncle's"))
    assert "say C1 to C5" in unknown.text and unknown.years is None
    assert "clamps" in unknown.text


def test_copper_over_steel_wants_its_ends_sealed_and_a_cover_helps():
    coating = {"material": "copper", "thickness_um": 56}
    note = corrosion_note(Candidate(name="w", material="steel", coating=coating, lives_where="C2", insulation_mm=1))
    assert "seal the ends" in note.text and "more than 20 years" in note.text and note.text.startswith("Its cover")
