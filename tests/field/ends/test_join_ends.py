"""The two ends' files joined: what really hung, contradictions, words out of step, clocks."""

import csv
import io

import pytest

from antexp.design.order_file import read_order
from antexp.errors import ReadingsError
from antexp.field.book_file import to_csv
from antexp.field.join_ends import join_ends
from antexp.field.readings import read_readings


@pytest.fixture
def paths(tmp_path):
    return tmp_path / "reading.csv", tmp_path / "hanging.csv"


def test_joined_readings_have_what_hung_and_what_was_measured(paths, swaps, hanging_day, reading_day, plan, order_csv,
                                                             tmp_path):
    reading_day.read_all().add(1, "noise", 1, reading="3", level_db="-121").add(2, "remark", 9, note="=cmd")
    hanging_day.hang_all(swr="1.3", height_m="9", source_db="-0.5", handling="4", handling_note="springs open")
    joined = join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    assert (joined.readings, joined.swaps, joined.notices) == (20, 10, ())
    out = tmp_path / "joined.csv"
    out.write_text(to_csv(joined.columns, joined.rows))
    record = read_readings(out, plan, read_order(order_csv))
    assert record.table["candidate"].tolist()[2:4] == ["birch wire"] * 2
    assert record.table["handling"].tolist() == [4] * 20 and record.table["handling_note"][0] == "springs open"
    assert record.table["swr"].tolist() == [1.3] * 20 and len(record.noise) == 1 and not record.notices
    assert record.source_monitored
    assert record.table["level_db"].tolist() == [float(row["level_db"]) + 0.5 for row in joined.rows
                                                 if row["role"] != "off"]


def test_the_order_of_the_files_does_not_matter_and_the_hanging_end_may_be_missing(paths, swaps, hanging_day,
                                                                                   reading_day):
    files = [reading_day.read_all().write(paths[0]), hanging_day.hang_all().write(paths[1])]
    assert join_ends(swaps, files).rows == join_ends(swaps, files[::-1]).rows
    alone = join_ends(swaps, files[:1])
    assert alone.readings == 20 and alone.rows[2]["candidate"] == "birch wire"


def test_a_wrong_wire_counts_for_what_hung_even_where_the_reading_end_left_it_out(
    paths, swaps, hanging_day, reading_day, plan, order_csv, tmp_path
):
    hanging_day.hang_all().add(2, "wrong", 80, candidate="cedar wire", specimen="1", note="tags swapped")
    reading_day.read_all()
    entry = str(len(reading_day.rows) + 1)
    for row in reading_day.rows:
        if row["swap"] == "2":
            row |= {"keep": "0", "left_out_by": entry}
    reading_day.add(2, "wrong", 81, note="other end says so")
    joined = join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    assert joined.readings == 20
    second = [row for row in joined.rows if row["swap"] == "2"]
    assert {row["candidate"] for row in second} == {"cedar wire"}
    assert {(row["correction"], row["keep"]) for row in second} == {("tags swapped", "1")}
    out = tmp_path / "joined.csv"
    out.write_text(to_csv(joined.columns, joined.rows))
    assert read_readings(out, plan, read_order(order_csv)).table["candidate"].tolist()[2] == "cedar wire"


def test_a_wire_that_nobody_knows_is_left_out(paths, swaps, hanging_day, reading_day):
    hanging_day.hang_all().add(2, "wrong", 80, note="nobody knows")
    joined = join_ends(swaps, [reading_day.read_all().write(paths[0]), hanging_day.write(paths[1])])
    assert joined.readings == 18 and {row["keep"] for row in joined.rows if row["swap"] == "2"} == {"0"}


def test_readings_that_were_left_out_for_another_reason_stay_left_out(paths, swaps, hanging_day, reading_day):
    hanging_day.hang_all().add(2, "wrong", 80, candidate="cedar wire", specimen="1", note="tags swapped")
    reading_day.read_all()
    reading_day.rows[2] |= {"keep": "0", "left_out_by": "21"}
    reading_day.add(2, "again", 81, note="lorry")
    joined = join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    assert [row["keep"] for row in joined.rows if row["swap"] == "2"] == ["0", "1"]


def test_ends_that_contradict_each_other_are_asked_back(paths, swaps, hanging_day, reading_day):
    hanging_day.hang(1).add(2, "skip", 8, note="snagged")
    reading_day.read(1, [-67]).read(2, [-66])
    with pytest.raises(ReadingsError) as caught:
        join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    text = str(caught.value)
    assert "reading.csv, line 3: the hanging end skipped a swap that the reading end read" in text
    assert "hanging.csv, line 4" in text


def test_words_out_of_step_are_said_with_line_and_both_words(paths, swaps, hanging_day, reading_day):
    reading_day.read_all().rows[4]["word"] = "garlic"
    hanging_day.hang_all().rows[0]["swap"] = "99"
    with pytest.raises(ReadingsError) as caught:
        join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    text = str(caught.value)
    assert "reading.csv, line 6: the check word is not that of the swap" in text
    assert "got swap 3, word garlic; allowed: word tennis" in text
    assert "hanging.csv, line 2: the swap is not in the order: got 99" in text


def test_two_receivers_join_and_one_name_for_both_is_refused(tmp_path, swaps, reading_day_of):
    files = [reading_day_of(name).read_all().write(tmp_path / f"{name}.csv") for name in ("north", "south")]
    joined = join_ends(swaps, files)
    assert joined.readings == 40 and {row["receiver"] for row in joined.rows} == {"north", "south"}
    other = reading_day_of("north").read_all((-60.0, -61.0)).write(tmp_path / "again.csv")
    with pytest.raises(ReadingsError, match="two files hold a reading of one number"):
        join_ends(swaps, [files[0], other])


def test_an_earlier_export_of_the_same_record_does_no_harm(tmp_path, swaps, reading_day):
    early = reading_day.read(1, [-67]).write(tmp_path / "early.csv")
    late = reading_day.read(2, [-66]).write(tmp_path / "late.csv")
    assert join_ends(swaps, [early, late]).readings == 2


def test_readings_while_the_swap_was_not_up_are_warned_of(paths, swaps, hanging_day, reading_day):
    files = [reading_day.read_all().write(paths[0]), hanging_day.hang_all().write(paths[1])]
    assert not join_ends(swaps, files).notices
    # the hanging end's clock is 10 minutes ahead: then the readings were taken after each swap had come down
    reading_day.add(1, "clock", 0, other_time="2026-05-01T09:40:00+02:00").write(paths[0])
    notices = join_ends(swaps, files).notices
    assert [notice.code for notice in notices] == ["readings-outside-hanging"] and "20 readings" in notices[0].text
    # and the hanging end, which made the same comparison, says the same alone
    reading_day.rows.pop()
    reading_day.write(paths[0])
    hanging_day.add(1, "clock", 10, other_time="2026-05-01T09:30:00+02:00").write(paths[1])
    assert [notice.code for notice in join_ends(swaps, files).notices] == ["readings-outside-hanging"]


def test_a_swap_hung_again_is_the_last_hanging(paths, swaps, hanging_day, reading_day):
    hanging_day.hang(1, swr="1.2")
    for row in hanging_day.rows:
        row |= {"left_out_by": "3", "keep": "0"}
    hanging_day.add(1, "again", 8, note="dropped").add(1, "up", 9, swr="1.5").add(1, "down", 12)
    reading_day.add(1, "reading", 10, reading="1", level_db="-67")
    joined = join_ends(swaps, [reading_day.write(paths[0]), hanging_day.write(paths[1])])
    assert joined.rows[0]["swr"] == "1.5" and not joined.notices


@pytest.mark.parametrize("which", ["two hanging ends", "no reading end", "neither", "no names", "times", "number",
                                   "long number"])
def test_files_that_cannot_be_joined(paths, swaps, hanging_day, reading_day, tmp_path, which):
    reading, hanging = reading_day.read_all().write(paths[0]), hanging_day.hang_all().write(paths[1])
    other = tmp_path / "other.csv"
    other.write_text("swap,word,what,time,entry,left_out_by\n1,banner,x,2026-05-01T09:30:00+02:00,1,\n")
    if which == "times":
        other.write_text(hanging.read_text().replace("+02:00", ""))
    if which == "number":
        other.write_text(reading.read_text().replace("banner,2,", "banner,two,"))
    if which == "long number":  # Python refuses to turn more than 4300 digits into a number
        other.write_text(reading.read_text().replace("banner,2,", f"banner,{'9' * 5_000},"))
    files, order, message = {
        "two hanging ends": ([reading, hanging, hanging], swaps, "two files of the hanging end"),
        "no reading end": ([hanging], swaps, "no file of the reading end"),
        "neither": ([other], swaps, "the file is of neither end"),
        "no names": ([reading], swaps.without_names(), "needs the order with names"),
        "number": ([other], swaps, "reading is not a number: got two"),
        "long number": ([other], swaps, "reading is not a number: got 999"),
        "times": ([reading, other], swaps, "not a time with its zone"),
    }[which]
    with pytest.raises(ReadingsError, match=message):
        join_ends(order, files)


def test_notes_are_neutral_in_the_joined_file_too(paths, swaps, reading_day):
    reading_day.read(1, [-67], note="@SUM(A1)")
    joined = join_ends(swaps, [reading_day.write(paths[0])])
    row = next(csv.DictReader(io.StringIO(to_csv(joined.columns, joined.rows))))
    assert row["note"] == "'@SUM(A1)"
