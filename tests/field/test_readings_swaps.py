"""Swaps: what changes between their rows, counts that start again, names that are nearly the same."""

import pytest

from antexp.errors import ReadingsError
from antexp.field.readings import read_readings


def refusal(source, *args, **kwargs) -> str:
    with pytest.raises(ReadingsError) as caught:
        read_readings(source, *args, **kwargs)
    return str(caught.value)


@pytest.mark.parametrize(("column", "first", "second"), [
    ("candidate", "a", "b"), ("specimen", "1", "2"), ("block", "x", "y"), ("place", "oak", "pole"),
])
def test_a_swap_that_changes_between_its_rows_is_refused(write, column, first, second):
    others = "candidate," if column != "candidate" else ""
    other = "a," if others else ""
    message = refusal(write(f"swap,{others}{column},level_db\n7,{other}{first},-45\n7,{other}{second},-46\n"))
    assert f"line 3, column {column}: a swap changes its {column} between its rows" in message
    assert f'got swap 7: "{first}", then "{second}"' in message


def test_a_count_that_starts_again_in_each_block_is_named_and_nothing_else(write):
    rows = [f"{swap},{block},{name},-45" for block in (1, 2, 3) for swap, name in enumerate("abc"[block - 1:] + "a", 1)]
    message = refusal(write("\n".join(["swap,block,candidate,level_db", *rows])))
    assert message.count("\n") == 0
    assert "the swap count starts again in each block: got swap 1 in blocks 1, 2, 3" in message
    assert "if block 1 ends with swap 10, block 2 begins with swap 11" in message


@pytest.mark.parametrize("reading", ["", ",reading"])
def test_a_count_that_starts_again_is_named_without_a_block_column_too(write, reading):
    number = ",1" if reading else ""
    rows = [f"{swap},{name},-45{number}" for name in ("abcd", "bcda") for swap, name in enumerate(name, 1)]
    message = refusal(write("\n".join([f"swap,candidate,level_db{reading}", *rows])))
    assert "line 6, column swap: the swap count starts again" in message
    assert message.count("\n") == 0


def test_one_swap_in_two_blocks_is_a_slip_and_not_a_new_count(write):
    text = "swap,block,candidate,level_db\n1,1,a,-45\n2,1,b,-45\n3,1,a,-45\n4,2,a,-45\n5,2,b,-45\n3,2,a,-45\n"
    message = refusal(write(text))
    assert "a swap changes its block" in message and "starts again" not in message


def test_receivers_written_one_below_the_other_are_no_new_count(write):
    rows = [f"{swap},{'abc'[swap - 1]},{receiver},-45" for receiver in ("X", "Y") for swap in (1, 2, 3)]
    record = read_readings(write("\n".join(["swap,candidate,receiver,level_db", *rows])))
    assert record.table["reading"].tolist() == [1] * 6


def test_readings_sorted_by_their_number_are_no_new_count(write):
    rows = [f"{swap},{'abc'[swap - 1]},{reading},-45" for reading in (1, 2) for swap in (1, 2, 3)]
    assert len(read_readings(write("\n".join(["swap,candidate,reading,level_db", *rows]))).table) == 6


@pytest.mark.parametrize(("first", "second"), [
    ("Bare copper", "bare copper"), ("bare  copper", "bare copper"), ("cafe\u0301", "caf\u00e9"), ("1", "1.0"),
    ("07", "7"), ("ﬁne wire", "fine wire"),
])
@pytest.mark.parametrize("column", ["candidate", "place", "receiver"])
def test_names_that_the_eye_does_not_tell_apart_are_refused_with_both(write, first, second, column):
    names = "candidate,level_db" if column == "candidate" else f"candidate,level_db,{column}"
    cells = ("{}", "-45") if column == "candidate" else ("a", "-45", "{}")
    rows = [f"{swap},{','.join(cells).format(name)}" for swap, name in ((1, first), (2, second))]
    message = refusal(write("\n".join([f"swap,{names}", *rows])))
    assert f"lines 2 and 3, column {column}: two names of a {column} differ only in capitals" in message
    assert f'got "{first}" and "{second}"' in message


def test_specimens_are_named_within_their_candidate(write):
    text = "swap,candidate,specimen,level_db\n1,copper,A,-45\n2,steel,a,-46\n"
    assert read_readings(write(text)).table["specimen"].tolist() == ["A", "a"]
    assert "two names of a specimen differ" in refusal(write(text.replace("steel", "copper")))


@pytest.mark.parametrize("column", ["block", "place", "receiver"])
def test_a_label_on_some_rows_only_is_refused(write, column):
    message = refusal(write(f"swap,candidate,level_db,{column}\n1,a,-45,x\n2,b,-46,\n"))
    assert f"line 3, column {column}: {column} is blank" in message


def test_specimens_are_named_on_all_rows_of_a_candidate_or_on_none(write):
    text = "swap,candidate,specimen,level_db\n1,a,A,-45\n2,b,,-46\n"
    assert read_readings(write(text)).table["specimen"].tolist() == ["A", "1"]
    assert "specimen is blank on some rows of a candidate" in refusal(write(text + "3,a,,-45\n"))


def test_a_blank_candidate_is_refused_unless_the_order_has_it(write, order):
    text = "swap,candidate,level_db\n1,bare copper,-45\n2,,-46\n"
    assert "line 3, column candidate: candidate is blank" in refusal(write(text))
    assert read_readings(write(text), order=order).table["candidate"].tolist() == ["bare copper", "steel wire"]


@pytest.mark.parametrize("cell", ["1.5", "0", "-1", "2000000000"])
def test_swaps_are_counted_with_whole_numbers_from_1(write, cell):
    assert "swap is not possible" in refusal(write(f"swap,candidate,level_db\n{cell},a,-45\n"))


def test_a_whole_swap_number_may_be_written_as_a_float(write):
    assert read_readings(write("swap,candidate,level_db\n1.0,a,-45\n2.,b,-46\n")).table["swap"].tolist() == [1, 2]
