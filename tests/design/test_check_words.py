"""Check words: distinct, easy to tell apart, reproducible."""

from itertools import combinations

import numpy as np

from antexp.design.check_words import WORDS, check_words, within_one_letter


def test_no_two_words_of_the_list_are_within_one_letter():
    assert not [pair for pair in combinations(WORDS, 2) if within_one_letter(*pair)]


def test_within_one_letter_knows_changed_added_and_dropped_letters():
    assert within_one_letter("lemon", "lemon")
    assert within_one_letter("lemon", "melon") is False  # two letters differ
    assert within_one_letter("lemon", "lemony")
    assert within_one_letter("lemon", "leon")
    assert within_one_letter("lemon", "demon")
    assert not within_one_letter("lemon", "lagoon")


def test_a_long_day_gets_pairs_of_words_that_differ_too():
    words = check_words(900, np.random.default_rng(5))
    assert len(set(words)) == 900
    assert not [pair for pair in combinations(words, 2) if within_one_letter(*pair)]


def test_a_longer_draw_begins_with_the_shorter_one():
    short, long = (check_words(n, np.random.default_rng(9)) for n in (30, 600))
    assert long[:30] == short
    assert check_words(30, np.random.default_rng(10)) != short


def test_words_are_short_and_plain():
    assert all(4 <= len(word) <= 8 and word.isascii() and word.islower() for word in WORDS)
