"""Reading a record whole: what is taken as it stands, and what is asked back."""

import hashlib
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from antexp.errors import FileError, ReadingsError
from antexp.field.readings import read_readings

GOOD = """swap,block,candidate,reading,level_db,minutes
1,1,bare copper,1,-45.1,0
1,1,bare copper,2,-45.2,1
2,1,steel wire,1,-46.1,7.5
2,1,steel wire,2,-46.0,8
"""


def refusal(source, *args, **kwargs) -> str:
    with pytest.raises(ReadingsError) as caught:
        read_readings(source, *args, **kwargs)
    return str(caught.value)


def codes(record) -> list[str]:
    return [notice.code for notice in record.notices]


# What is taken


def test_a_plain_file_is_taken_as_it_stands(write):
    path = write(GOOD)
    record = read_readings(path)
    assert record.table["line"].tolist() == [2, 3, 4, 5]
    assert record.table["swap"].tolist() == [1, 1, 2, 2]
    assert record.table["level_db"].tolist() == [-45.1, -45.2, -46.1, -46.0]
    assert record.table["minutes"].tolist() == [0.0, 1.0, 7.5, 8.0]
    for label in ("block", "specimen", "place", "receiver"):
        assert record.table[label].tolist() == ["1"] * 4
    assert record.sha256 == hashlib.sha256(GOOD.encode()).hexdigest()
    assert (record.path, record.step_db, record.scale) == (str(path), None, None)
    assert (record.level_form, record.times_from, record.notices) == ("level", "minutes", ())
    assert path.read_text() == GOOD


@pytest.mark.parametrize("content", [
    b"\xef\xbb\xbf" + GOOD.encode(), GOOD.replace("\n", "\r\n").encode(), GOOD.replace("\n", "\r").encode(),
    GOOD.rstrip("\n").encode(), GOOD.replace("\n", ",\n").encode(), (GOOD + "\n,,,,,\n  \n").encode(),
    GOOD.replace("bare copper", '  "bare copper" ').replace('" ,', '",').encode(), GOOD.replace(",", " , ").encode(),
    GOOD.replace("-", "−").encode(),
], ids=["mark", "crlf", "cr", "no last line end", "trailing commas", "blank rows", "quotes", "spaces", "minus sign"])
def test_harmless_ways_to_write_the_same_file_give_the_same_record(write, content):
    plain = read_readings(write(GOOD, "plain.csv"))
    pd.testing.assert_frame_equal(read_readings(write(content)).table, plain.table)


def test_a_table_and_a_file_of_the_same_rows_give_the_same_record(write):
    record = read_readings(write(GOOD))
    from_table = read_readings(pd.read_csv(write(GOOD)))
    pd.testing.assert_frame_equal(from_table.table.drop(columns="line"), record.table.drop(columns="line"))
    assert from_table.table["line"].tolist() == [1, 2, 3, 4]
    assert from_table.path is None and len(from_table.sha256) == 64


def test_a_table_with_any_pandas_types_is_taken():
    frame = pd.DataFrame({
        "swap": pd.array([1, 1, 2, 2], dtype="Int64"), "block": [1.0, 1.0, 1.0, 1.0],
        "candidate": pd.Categorical(["a", "a", "b", "b"]), "level_db": np.array([-45, -45.5, -46, -46], "float32"),
        "keep": [True, True, True, False],
        "time": pd.to_datetime(["2026-05-01 10:00:00", "2026-05-01 10:01:00", "2026-05-01 10:07:30", None])})
    before = frame.copy(deep=True)
    record = read_readings(frame)
    assert record.table["swap"].tolist() == [1, 1, 2]
    assert record.table["block"].tolist() == ["1", "1", "1"]
    assert record.table["minutes"].tolist() == [0.0, 1.0, 7.5]
    assert record.table["level_db"].tolist() == [-45.0, -45.5, -46.0]
    pd.testing.assert_frame_equal(frame, before)


def test_rows_are_numbered_within_swap_and_receiver_when_there_is_no_reading_column(write):
    text = "swap,candidate,receiver,level_db\n1,a,X,-45\n1,a,Y,-50\n1,a,X,-45.1\n2,b,X,-46\n2,b,Y,-51\n"
    assert read_readings(write(text)).table["reading"].tolist() == [1, 1, 2, 1, 1]


def test_rows_with_keep_0_are_left_out_and_listed_whatever_they_hold(write):
    text = "swap,candidate,level_db,keep\n1,a,-45,1\n1,b,oops,0\n2,b,-46,\n"
    record = read_readings(write(text))
    assert record.table["line"].tolist() == [2, 4]
    assert record.left_out[["line", "level_db"]].values.tolist() == [[3, "oops"]]
    assert [n.text for n in record.notices if n.code == "rows-left-out"] == [
        "1 reading with keep = 0 left out: line 3."]


def test_left_out_rows_without_a_level_are_events_and_no_readings(write):
    text = "swap,candidate,level_db,keep,what\n1,a,-45,1,reading\n1,a,,0,clock\n2,b,-46,1,reading\n"
    record = read_readings(write(text))
    assert len(record.left_out) == 1 and "rows-left-out" not in codes(record)


def test_noise_rows_stand_apart(write):
    text = "swap,block,candidate,level_db,role\n1,A,a,-45,\n1,A,,-98.5,off\n2,A,b,-46,candidate\n"
    record = read_readings(write(text))
    assert record.table["level_db"].tolist() == [-45.0, -46.0]
    assert record.noise[["line", "swap", "block", "level_db"]].values.tolist() == [[3, 1, "A", -98.5]]


def test_the_source_monitor_is_taken_off_the_level_and_its_range(write):
    text = "swap,candidate,level_db,source_db\n1,a,-45,0.5\n2,b,-46,-0.5\n"
    record = read_readings(write(text), step_db=1.0)
    assert record.table["level_db"].tolist() == [-45.5, -45.5]
    assert record.table["level_low_db"].tolist() == [-46.0, -46.0]
    assert record.source_monitored
    assert "source_db is blank" in refusal(write(text.replace(",-0.5", ",")))


def test_what_stands_beside_the_level_is_kept_and_other_columns_pass_untouched(write):
    text = ("swap,candidate,level_db,swr,feed_ohm,height_m,note,wind,line\n"
            "1,a,-45,1.3,62+9j,9,gusty, 3 ,x\n2,b,-46,,48-j4,,,,\n")
    record = read_readings(write(text))
    assert record.table["swr"].tolist()[0] == 1.3 and np.isnan(record.table["swr"][1])
    assert record.table["feed_ohm"].tolist() == [62 + 9j, 48 - 4j]
    assert record.table["height_m"].tolist()[0] == 9.0
    assert record.table["note"].tolist() == ["gusty", ""]
    assert record.table["wind"].tolist() == ["3 ", ""]
    assert record.table["line"].tolist() == [2, 3] and record.table["line_given"].tolist() == ["x", ""]
    assert record.passed_through == ("wind", "line_given")


def test_rows_of_all_the_pieces_a_long_file_is_read_in_keep_their_lines(write):
    rows = [f"{i // 4 + 1},c{i // 4 % 5},{-45 - i % 7 / 10}" for i in range(20_000)]
    table = read_readings(write("\n".join(["swap,candidate,level_db", *rows]))).table
    assert table["line"].tolist() == list(range(2, 20_002))
    assert table["swap"].tolist() == [i // 4 + 1 for i in range(20_000)]
    assert table["level_db"].tolist() == [-45 - i % 7 / 10 for i in range(20_000)]


# What is asked back


def test_all_faults_come_at_once_with_their_lines_and_values(write):
    text = ('swap,candidate,level_db,block\n1,a,-45.3,1\n1,a,"-45,3",1\n2,b,x5,1\n2.5,b,-46,1\n3,c,nan,1\n3,c,,1\n'
            "4,d,-301,1\n5,e,inf,1\n6,f,-45,3,1\n")
    with pytest.raises(ReadingsError) as caught:
        read_readings(write(text))
    found = {(fault.what, fault.where.split("csv, ")[1], fault.got) for fault in caught.value.faults}
    assert found == {
        ("a row has not as many cells as the header", "line 10", "5 cells"),
        ("swap is not possible", "line 5, column swap", '"2.5"'),
        ("level_db has a decimal comma", "line 3, column level_db", '"-45,3"'),
        ("level_db is not a number", "line 4, column level_db", '"x5"'),
        ("level_db is not a finite number (2 lines)", "lines 6, 9, column level_db", '"nan", "inf"'),
        ("level_db is not possible", "line 8, column level_db", '"-301"'),
        ("the level is blank", "line 7, column level_db", ""),
    }
    assert "A decimal comma splits a number in two cells" in str(caught.value)
    assert "Write a decimal point: -45.3, not -45,3" in str(caught.value)


def test_many_rows_of_one_fault_show_their_count_and_the_first_five(write):
    text = "swap,candidate,level_db\n" + "".join(f"{i},a,bad{i}\n" for i in range(1, 9))
    message = refusal(write(text))
    assert "lines 2, 3, 4, 5, 6 and 3 more, column level_db: level_db is not a number (8 lines)" in message
    assert 'got "bad1", "bad2", "bad3", "bad4", "bad5" and 3 more' in message


def test_a_fault_of_a_table_names_its_rows():
    message = refusal(pd.DataFrame({"swap": [1, 2], "candidate": ["a", "b"], "level_db": [-45.0, np.inf]}))
    assert message.startswith("the readings table, row 2, column level_db: level_db is not a finite number")


@pytest.mark.parametrize(("content", "words"), [
    (b"", "the readings file is empty"), (b"\xef\xbb\xbf \n\n", "the readings file is empty"),
    (GOOD.encode("utf-16"), "not UTF-8"), ("swap,candidate\n1,caf\xe9\n".encode("latin-1"), "line 2"),
])
def test_files_that_are_no_text_are_refused(write, content, words):
    with pytest.raises(FileError, match=words):
        read_readings(write(content))


def test_missing_files_and_folders_are_refused(tmp_path):
    with pytest.raises(FileError, match="there is no such readings file"):
        read_readings(tmp_path / "nowhere.csv")
    with pytest.raises(FileError, match="a folder stands where the readings file belongs"):
        read_readings(tmp_path)


@pytest.mark.parametrize(("text", "words"), [
    ("swap,candidate,level_db\n", "there are no rows below the header"),
    ("swap,level_db\n1,-45\n", "a column is missing: candidate (there is no order file to look it up in)"),
    ("swap,candidate\n1,a\n", "a column is missing: a level (level_db, or level_low_db and level_high_db, or level_s)"),
    ("swap,candidate,level_low_db\n1,a,-50\n", "a column is missing: the other end of the range"),
    ("swaps,candidate,levl_db\n1,a,-45\n", 'Rename "swaps" to swap, if that is it.'),
    ("swaps,candidate,levl_db\n1,a,-45\n", 'Rename "levl_db" to level_db, if that is it.'),
    ("1,a,-45\n2,b,-46\n", "The first line must name the columns."),
    ("swap,candidate,level_db,swap\n1,a,-45,1\n", 'a column stands twice in the header: got "swap"'),
    ("swap,candidate,level_db,Block\n1,a,-45,1\n", 'got "Block"; allowed: block. Write it exactly so.'),
    ("swap,candidate,level_db,\n1,a,-45,x\n", "a column has cells but no name in the header"),
])
def test_headers_that_do_not_do_are_refused(write, text, words):
    assert words in refusal(write(text))


def test_a_column_that_is_nearly_a_known_one_is_passed_through_with_a_warning(write):
    record = read_readings(write("swap,candidate,level_db,minute\n1,a,-45,0\n2,b,-46,7\n"))
    assert codes(record) == ["column-not-used", "times-from-swap-numbers"]
    assert "did you mean minutes?" in record.notices[0].text


@pytest.mark.parametrize(("column", "cell", "words"), [
    ("keep", "maybe", "keep is neither 0 nor 1"), ("role", "of", "role is not known"),
    ("swr", "0.9", "swr is not possible"), ("swr", "1,3", "swr has a decimal comma"),
    ("feed_ohm", "j9", "feed_ohm is not an impedance"), ("feed_ohm", "-5+2j", "feed_ohm is not an impedance"),
    ("height_m", "9 m", "height_m is not a number"), ("source_db", "x", "source_db is not a number"),
    ("reading", "1.5", "reading is not possible"), ("reading", "-1", "reading is not possible"),
])
def test_other_columns_are_checked_too(write, column, cell, words):
    quoted = f'"{cell}"' if "," in cell else cell
    assert words in refusal(write(f"swap,candidate,level_db,{column}\n1,a,-45,{quoted}\n"))


def test_a_reading_that_stands_twice_is_refused(write):
    message = refusal(write(GOOD + "2,1,steel wire,2,-46.3,9\n"))
    assert "lines 5, 6, column swap, reading, receiver: a reading stands twice (2 lines)" in message
    assert 'got swap 2, reading 2, receiver "1"' in message


def test_a_record_with_nothing_left_is_refused(write):
    message = refusal(write("swap,candidate,level_db,keep,role\n1,a,-45,0,\n1,a,-99,1,off\n"))
    assert "no readings are left: got 1 row with keep = 0, 1 with the source off" in message


def test_a_lost_minus_among_others_is_warned_of(write):
    record = read_readings(write(GOOD.replace("-46.0", "46.0")))
    assert codes(record) == ["signs-mixed"] and "line 5. Was" in record.notices[0].text


# With a plan and an order


def test_the_order_says_what_the_readings_do_not(write, order):
    record = read_readings(write("swap,level_db\n1,-45\n2,-46\n2,-46.1\n4,-45.2\n"), order=order)
    assert record.table["candidate"].tolist() == ["bare copper", "steel wire", "steel wire", "bare copper"]
    assert record.table["specimen"].tolist() == ["1", "2", "2", "1"]
    assert record.table["block"].tolist() == ["1", "1", "1", "2"]
    assert record.table["minutes"].tolist() == [0.0, 7.0, 7.0, 0.0]
    assert record.times_from == "order"
    assert [n.text for n in record.notices] == ["No readings of 3 swaps of the order: 3, 5, 6."]


def test_a_swap_that_the_order_does_not_have_is_refused(write, order):
    assert "line 3, column swap: the swap is not in the order file: got 9; allowed: 1 to 6" in refusal(
        write("swap,level_db\n1,-45\n9,-46\n"), order=order)


def test_readings_that_contradict_the_order_are_refused(write, order):
    message = refusal(write("swap,candidate,level_db\n1,bare copper,-45\n2,bare copper,-46\n"), order=order)
    assert "line 3, column candidate: candidate is not what the order file has for the swap" in message
    assert 'got swap 2: "bare copper", order "steel wire"' in message


def test_another_wire_with_its_reason_is_taken_and_said(write, order):
    text = "swap,candidate,level_db,correction\n1,bare copper,-45,\n2,bare copper,-46,took the wrong reel\n"
    record = read_readings(write(text), order=order)
    assert record.table["candidate"].tolist() == ["bare copper", "bare copper"]
    assert record.table["specimen"].tolist() == ["1", "1"]
    assert 'Swap 2: candidate “bare copper” where the order has “steel wire” (took the wrong reel).' in str(
        record.notices[0].text)


def test_an_unknown_candidate_is_refused_with_the_nearest_name(write, make_plan, order):
    text = "swap,candidate,level_db\n1,bare coper,-45\n2,steel wire,-46\n"
    message = refusal(write(text), make_plan())
    assert "line 2, column candidate: the plan has no such candidate" in message
    assert 'got "bare coper"; allowed: "bare copper", "steel wire". Did you mean "bare copper"?' in message
    assert "the order file has no such candidate" in refusal(write(text), order=order)


def test_a_word_out_of_step_is_warned_of(write, order):
    text = "swap,level_db,word\n1,-45,Maple\n2,-46,basin\n3,-45,heron\n4,-45,\n5,-46,lemon\n6,-45,otter\n"
    record = read_readings(write(text), order=order)
    assert codes(record) == ["words-out-of-step"]
    assert 'Swap 2 has the word "basin", which is swap 3\'s; its own is "heron".' in record.notices[0].text
    assert 'Swap 5 has the word "lemon", which is no word of the order' in record.notices[0].text


def test_a_plan_gives_scale_and_step(write, make_plan):
    record = read_readings(write(GOOD), make_plan(step_db=0.5))
    assert (record.scale, record.step_db) == ("dBm", 0.5)
    np.testing.assert_allclose(record.table["level_high_db"] - record.table["level_low_db"], 0.5, atol=1e-12)


def test_a_plan_without_its_parts_is_enough_for_the_names(write):
    plan = SimpleNamespace(candidate_names=("bare copper", "steel wire"))
    assert read_readings(write(GOOD), plan).scale is None
