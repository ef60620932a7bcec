"""The book: entries, undo and what counts, held to properties by hypothesis."""

from hypothesis import given
from hypothesis import strategies as st

from antexp.field.record_book import Book, again_leaves_out, own_keep, wrong_wire_leaves_out

KINDS = ("reading", "noise", "wanders", "skip", "enough", "remark", "again", "wrong")


def row(swap, what, reading=""):
    return {"swap": str(swap), "what": what, "reading": reading, "candidate": "", "left_out_by": "", "keep": ""}


def step(book, swap, kind):
    """Do what the ends do with a book."""
    if kind == "undo":
        return book.undo()
    if kind == "back":
        return book.bring_back()
    number = str(book.next_reading(swap)) if kind in ("reading", "noise") else ""
    leaves_out = {"again": again_leaves_out(swap), "wrong": wrong_wire_leaves_out(swap)}.get(kind)
    return book.with_entry([row(swap, kind, number)], leaves_out)


steps = st.lists(st.tuples(st.integers(1, 3), st.sampled_from((*KINDS, "undo", "back"))), max_size=25)


def played(actions):
    book = Book()
    for swap, kind in actions:
        book = step(book, swap, kind)
    return book


@given(steps, st.integers(1, 3), st.sampled_from(KINDS))
def test_undo_takes_back_exactly_the_last_entry_and_bring_back_restores_it(actions, swap, kind):
    book = played(actions)
    after = step(book, swap, kind)
    assert after.undo().rows == book.rows
    assert after.undo().bring_back().rows == after.rows


@given(steps)
def test_whatever_was_done_undoing_all_of_it_leaves_nothing(actions):
    book = played(actions)
    for _ in range(len(actions)):
        book = book.undo()
    assert book.rows == ()
    for _ in range(len(actions)):
        book = book.bring_back()
    assert book.undone == ()


@given(steps)
def test_a_row_counts_unless_it_is_a_remark_or_left_out_and_numbers_are_never_used_twice(actions):
    book = played(actions)
    entries = [int(r["entry"]) for r in book.rows]
    assert entries == sorted(entries)
    for r in book.rows:
        assert r["keep"] == ("0" if r["left_out_by"] else own_keep(r))
        assert not r["left_out_by"] or int(r["left_out_by"]) > int(r["entry"])
    numbered = [(r["swap"], r["reading"]) for r in book.rows if r["reading"]]
    assert len(set(numbered)) == len(numbered)


def test_wandering_asks_for_more_and_a_swap_ends_when_it_has_them(swaps):
    book = Book()
    for _ in range(3):
        book = step(book, 1, "reading")
    assert book.is_read(1, 3) and book.present(swaps, 3).swap == 2
    book = step(step(book, 2, "reading"), 2, "wanders")
    assert book.wanted(2, 3) == 5
    for _ in range(4):
        assert book.present(swaps, 3).swap == 2
        book = step(book, 2, "reading")
    assert book.present(swaps, 3).swap == 3


def test_reading_again_and_a_wrong_wire_leave_readings_out_but_not_the_noise():
    book = Book()
    for kind in ("noise", "reading", "reading", "remark"):
        book = step(book, 1, kind)
    again = step(book, 1, "again")
    assert [r["keep"] for r in again.rows] == ["1", "0", "0", "0", "0"]
    assert again.readings(1) == () and not again.is_read(1, 3)
    wrong = step(book, 1, "wrong")
    assert [r["keep"] for r in wrong.rows] == ["1", "0", "0", "0", "0"]
    assert wrong.is_read(1, 3)  # nobody reads it again unless it is hung again


def test_an_empty_book_has_nothing_to_undo():
    assert Book().undo() == Book() and Book().bring_back() == Book()
