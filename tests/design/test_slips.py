"""Check words catch an end that is a swap out of step, and only that."""

import pytest

from antexp.design.slips import first_slip

WORDS = {1: "lemon", 2: "tunnel", 3: "piano", 4: "wagon", 5: "harbour", 6: "velvet"}


def written(**changed):
    return [(swap, changed.get(f"s{swap}", word)) for swap, word in WORDS.items()]


def test_words_in_step_show_no_slip():
    assert first_slip(WORDS, written()) is None
    assert first_slip(WORDS, written(s2=" Tunnel ", s3="")) is None  # capitals, blanks and missing words do not count


def test_one_behind_from_swap_three_on():
    slip = first_slip(WORDS, written(s3="tunnel", s4="piano", s5="wagon", s6="harbour"))
    assert (slip.swap, slip.word, slip.expected, slip.belongs_to, slip.until) == (3, "tunnel", "piano", 2, 6)
    assert "Out of step from swap 3" in str(slip) and "swaps 3 to 6" in str(slip)


def test_back_in_step_after_a_while():
    slip = first_slip(WORDS, written(s2="piano", s3="tunnel"))
    assert (slip.swap, slip.belongs_to, slip.until) == (2, 3, 3)


@pytest.mark.parametrize("word", ["tunel", "tunnels", "tummel", "zebra"])
def test_a_misheard_word_is_no_slip(word):
    assert first_slip(WORDS, written(s2=word)) is None


def test_swaps_the_order_does_not_have_are_not_compared():
    assert first_slip(WORDS, [(9, "lemon"), (1, "lemon")]) is None
