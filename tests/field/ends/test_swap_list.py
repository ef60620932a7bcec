"""The list of swaps: from the order, from the reading end's file, and what is refused."""

import pytest

from antexp.errors import FileError, OrderError, ReadingsError
from antexp.field.swap_list import companion_path, read_swap_list


def test_the_order_gives_names_and_the_reading_end_none(order_csv):
    named, nameless = read_swap_list(order_csv), read_swap_list(order_csv.with_name("order.reading-end.csv"))
    assert named.has_names and named.swaps[1].candidate == "birch wire" and named.swaps[1].word == "garlic"
    assert not nameless.has_names and nameless.swaps[1].candidate == ""
    assert nameless.swaps == named.without_names().swaps
    assert named.blocks == ("1", "2") and [s.swap for s in named.of_block("2")] == [6, 7, 8, 9, 10]


def test_both_ends_have_one_fingerprint_and_another_order_another(order_csv):
    named = read_swap_list(order_csv)
    assert named.fingerprint == read_swap_list(order_csv.with_name("order.reading-end.csv")).fingerprint
    order_csv.write_text(order_csv.read_text().replace("kiosk", "lemon"))
    assert read_swap_list(order_csv).fingerprint != named.fingerprint


@pytest.mark.parametrize(("old", "new", "message"), [
    ("6,2,1,0,anchor", "6,2,1,0,banner", "a check word stands twice"),
    ("5,1,5,28,sketch", "5,2,5,28,sketch", None),
    ("10,2,5,28,marble", "10,1,5,28,marble", "the swaps of a block do not stand together"),
    ("4,1,4,21,tobacco", "2,1,4,21,tobacco", "swap numbers do not rise"),
])
@pytest.mark.parametrize("name", ["order.csv", "order.reading-end.csv"])
def test_an_order_that_cannot_be_followed_is_refused(order_csv, name, old, new, message):
    path = order_csv.with_name(name)
    path.write_text(path.read_text().replace(old, new))
    if message is None:
        assert read_swap_list(path).swaps[4].block == "2"
        return
    with pytest.raises(OrderError, match=message):
        read_swap_list(path)


def test_every_fault_of_the_reading_ends_file_is_said_at_once(tmp_path):
    path = tmp_path / "bare.csv"
    path.write_text("swap,block,position,minutes,word\n1,1,1,soon,banner\nx,1,2,7,garlic\n3,,3,14,\n")
    with pytest.raises(ReadingsError) as caught:
        read_swap_list(path)
    text = str(caught.value)
    for part in ("minutes is not a number", '"soon"', "swap is not a number", "block is blank", "word is blank"):
        assert part in text


def test_another_file_is_refused_with_what_is_missing(tmp_path):
    path = tmp_path / "other.csv"
    path.write_text("swap,level_db\n1,-67\n")
    with pytest.raises(OrderError, match="Missing: block, position, minutes, word"):
        read_swap_list(path)
    with pytest.raises(FileError, match="no such order file"):
        read_swap_list(tmp_path / "none.csv")


def test_companions_stand_beside_the_order_whichever_end_made_them():
    assert companion_path("/day/order.csv", "card.html").as_posix() == "/day/order.card.html"
    assert companion_path("/day/order.reading-end.csv", "card.html").as_posix() == "/day/order.card.html"
