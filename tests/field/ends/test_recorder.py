"""The terminal's recorder: what each word does to the file, and that nothing typed is lost."""

import csv
import os
from dataclasses import replace

import pytest

from antexp.design.order_file import read_order
from antexp.errors import Fault, FileError, ReadingsError
from antexp.field import book_file
from antexp.field.facts import facts_of
from antexp.field.readings import read_readings
from antexp.field.recorder import Recorder, Settings, prompt, record
from antexp.field.sources import SourceError, SourceLevel
from antexp.field.swap_list import read_swap_list
from antexp.plan.reader import plan_from_dict


@pytest.fixture
def settings(tmp_path, swaps, facts, set_clock):
    return Settings(tmp_path / "readings.csv", swaps, facts, clock=set_clock)


def rows_of(settings):
    with open(settings.path, encoding="utf-8", newline="") as stream:
        return list(csv.DictReader(stream))


def kept(settings, what="reading"):
    return [row for row in rows_of(settings) if row["what"] == what and row["keep"] == "1"]


def run(settings, script, lines):
    talk = script(lines)
    record(settings, talk)
    return talk


def test_a_typed_day_is_a_readings_file_that_is_read_without_fault(settings, script, plan, order_csv):
    levels = [f"6{swap % 3 + 6}.{reading}" for swap in range(1, 11) for reading in (1, 2, 3)]
    talk = run(settings, script, [*levels, "q"])
    found = read_readings(settings.path, plan, read_order(order_csv))
    assert len(found.table) == 30 and not found.notices
    assert found.table["level_db"].tolist() == [-float(level) for level in levels]
    assert found.table["candidate"].tolist()[:4] == ["willow wire"] * 3 + ["birch wire"]
    assert found.table["minutes"].tolist()[:2] == [0.0, 1 / 3]  # the clock moved on by 20 s
    assert "All swaps are done" in talk.prompts[-1]


def test_the_prompt_says_which_swap_and_never_what_hangs_unless_asked(settings, script):
    first = prompt(Recorder(settings))
    assert "swap 1, word banner: reading 1 of 3, dBm" in first and "willow" not in first
    assert "willow wire, specimen 1" in prompt(Recorder(replace(settings, names=True)))


def test_it_goes_on_where_it_was_left(settings, script):
    run(settings, script, ["67.1", "67.2"])
    talk = run(settings, script, ["67.3", "66"])
    assert any("2 readings of 1 swap on the disk" in line for line in talk.said)
    assert "swap 1, word banner: reading 3 of 3" in talk.prompts[0]
    assert [(row["swap"], row["reading"]) for row in kept(settings)] == [("1", "1"), ("1", "2"), ("1", "3"), ("2", "1")]


def test_undo_and_bring_back_reach_over_a_restart(settings, script):
    run(settings, script, ["67.1", "67.2"])
    run(settings, script, ["u", "u"])
    assert rows_of(settings) == []
    talk = run(settings, script, ["b", "u", "67.5"])
    assert "There is nothing to bring back." in talk.said and "There is nothing to undo." in talk.said
    assert [row["level_db"] for row in kept(settings)] == ["-67.5"]


def test_wandering_ranges_noise_and_remarks(settings, script):
    run(settings, script, ["w gusts", "66,5 to 68", "67..68", "67.2", "n 121", "r =SUM(A1)", "67", "67.1"])
    assert [row["level_low_db"] for row in kept(settings)][:2] == ["-68", "-68"]
    assert len(kept(settings)) == 5
    assert kept(settings, "noise")[0]["role"] == "off"
    remark = next(row for row in rows_of(settings) if row["what"] == "remark")
    assert remark["note"] == "'=SUM(A1)" and remark["keep"] == "0"
    assert next(row for row in rows_of(settings) if row["what"] == "wanders")["note"] == "gusts"


def test_skip_enough_again_and_stop(settings, script):
    talk = run(settings, script, [
        "k rope snagged", "67", "e", "a 1", "a 1 rope is free", "66", "66.1", "66.2", "64", "stop", "stop thunder",
        "65"])
    assert any("Say why: a reason" in line for line in talk.said)
    assert any("Say why: stop thunder" in line for line in talk.said)
    assert [(row["swap"], row["level_db"]) for row in kept(settings)] == [
        ("2", "-67"), ("1", "-66"), ("1", "-66.1"), ("1", "-66.2"), ("3", "-64"), ("6", "-65")]
    stopped = [row["swap"] for row in rows_of(settings) if row["what"] == "stop"]
    assert stopped == ["3", "4", "5"]


def test_a_stopped_block_is_opened_again_by_one_undo(settings, script):
    talk = run(settings, script, ["67", "stop wind", "u"])
    assert "swap 1, word banner: reading 2 of 3" in talk.prompts[-1]


def test_a_wrong_wire_counts_for_what_really_hung_when_names_are_shown(settings, script, plan, order_csv):
    settings = replace(settings, names=True)
    run(settings, script, ["67", "67.1", "67.2", "66", "66.1", "66.2", "x 2 tags were swapped", "3"])
    found = read_readings(settings.path, plan, read_order(order_csv))
    assert found.table["candidate"].tolist() == ["willow wire"] * 3 + ["cedar wire"] * 3
    assert found.table["level_db"].tolist()[3:] == [-66, -66.1, -66.2]
    assert any("tags were swapped" in notice.text for notice in found.notices)


def test_a_wrong_wire_is_left_out_where_names_are_not_known(settings, script):
    run(settings, script, ["67", "67.1", "67.2", "x 1 other end says so"])
    assert kept(settings) == []


def test_swr_and_height_stand_on_the_readings_that_follow(settings, script, plan):
    run(settings, script, ["swr 1,4", "h 9.1", "67", "swr 0.5", "67.1", "67.2", "66"])
    assert [(row["swr"], row["height_m"]) for row in kept(settings)] == [("1.4", "9.1")] * 3 + [("", "")]
    assert read_readings(settings.path, plan).table["swr"].tolist()[:3] == [1.4] * 3


def test_it_asks_about_disagreement_within_the_swap_and_about_slips_only(settings, script):
    talk = run(settings, script, ["67", "76", "maybe", "n", "67.1", "67.2", "82", "6.72", "n", "82", "82"])
    questions = [line for line in talk.prompts if "right? [y/n]" in line]
    # 76 against 67; the unclear answer asks once more; 82 after 67 is another wire's affair; 6.72 is a slip
    assert len(questions) == 3 and "−67" in questions[0] and "The other readings of this swap: −82" in questions[2]
    assert [row["level_db"] for row in kept(settings)] == ["-67", "-67.1", "-67.2", "-82", "-82", "-82"]


def test_every_answer_to_a_question_is_taken(settings, script):
    run(settings, script, ["67", "76", "y"])
    assert [row["level_db"] for row in kept(settings)] == ["-67", "-76"]


def test_the_other_clock_is_written_down(settings, script):
    run(settings, script, ["c 25:00", "c 9:30:50"])
    clock = next(row for row in rows_of(settings) if row["what"] == "clock")
    assert clock["other_time"] == "2026-05-01T09:30:50+02:00"


@pytest.mark.parametrize(("line", "message"), [
    ("foo", "Not a number: foo"), ("", "Nothing was typed"), ("n loud", "Not a number"),
    ("a 99 why", "needs the number"),
    ("x", "needs the number"), ("e", "There is no reading of this swap yet"), ("r", "The remark is empty"),
    ("h -3", "cannot be -3"), ("do_level 3", "Not a number"), ("level 3", "Not a number"), ("_level", "Not a number"),
])
def test_what_is_not_understood_is_said_and_changes_nothing(settings, script, line, message):
    talk = run(settings, script, [line])
    assert any(message in said for said in talk.said)
    assert not settings.path.exists()


def test_s_units_and_attenuator_scales(tmp_path, swaps, script, set_clock):
    for meter, lines, column, cells in (
        ("S-meter", ["7", "S9", "s8"], "level_s", ["S7", "S9", "S8"]),
        ("S-meter and attenuator", ["31", "32", "31,5"], "level_db", ["31", "32", "31.5"]),
    ):
        plan = plan_from_dict({"candidates": ["a wire", "b wire"], "meter": meter})
        settings = Settings(tmp_path / f"{column}.csv", swaps, facts_of(plan), clock=set_clock)
        run(settings, script, lines)
        assert [row[column] for row in kept(settings)] == cells


def test_without_names_the_file_holds_none_and_the_order_supplies_them(tmp_path, swaps, facts, plan, script, order_csv,
                                                                     set_clock):
    settings = Settings(tmp_path / "r.csv", swaps.without_names(), facts, clock=set_clock)
    run(settings, script, ["67", "67.1", "67.2", "66"])
    assert "candidate" not in settings.path.read_text() and "willow" not in settings.path.read_text()
    assert read_readings(settings.path, plan, read_order(order_csv)).table["candidate"].tolist()[-1] == "birch wire"


def test_another_days_file_and_a_foreign_file_are_refused_and_left_alone(settings, script, swaps):
    run(settings, script, ["67"])
    text = settings.path.read_text().replace("banner", "lemon")
    settings.path.write_text(text)
    with pytest.raises(ReadingsError, match="not in this order"):
        run(settings, script, ["67"])
    assert settings.path.read_text() == text
    settings.path.write_text("swap,level_db\n1,-67\n")
    with pytest.raises(ReadingsError, match="neither a page nor the recorder"):
        run(settings, script, ["67"])


def test_it_never_writes_over_what_something_else_wrote(settings, script):
    class Meddler(script):
        def ask(self, shown):
            answer = super().ask(shown)
            if answer == "68":
                settings.path.write_text("swap,level_db\n")
            return answer

    with pytest.raises(ReadingsError, match="something else wrote"):
        record(settings, Meddler(["67", "68"]))
    assert settings.path.read_text() == "swap,level_db\n"


def test_a_full_disk_is_said_aloud_and_tried_again(settings, script, monkeypatch):
    fsync, failures = os.fsync, [OSError(28, "No space left on device")]

    def full_once(handle):
        if failures:
            raise failures.pop()
        return fsync(handle)

    monkeypatch.setattr(book_file.os, "fsync", full_once)
    talk = run(settings, script, ["67", ""])
    assert any(line.startswith("NOT on the disk") for line in talk.said)
    assert [row["level_db"] for row in kept(settings)] == ["-67"]


def test_each_entry_is_on_the_disk_before_the_next_prompt(settings, script, monkeypatch):
    events = []
    fsync, replaced = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (events.append("fsync"), fsync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda *names: (events.append("replace"), replaced(*names))[1])

    class Listening(script):
        def ask(self, shown):
            events.append("prompt")
            return super().ask(shown)

    record(settings, Listening(["67", "w", "u"]))
    assert events == ["prompt", *["fsync", "replace", "fsync", "prompt"] * 3]


class Meter:
    """An instrument of the test's own."""

    name = "test meter"

    def __init__(self, answers):
        self.answers = list(answers)

    def read(self):
        answer = self.answers.pop(0)
        if isinstance(answer, Exception):
            raise answer
        return SourceLevel(answer, "bursts" if answer < -70 else "")

    def close(self):
        self.answers = []


def test_a_source_answers_enter_and_typing_still_works(settings, script):
    settings = replace(settings, source=Meter([-67.25, SourceError("no answer."), -67.5]))
    talk = run(settings, script, ["", "", "67.1", ""])
    assert [row["level_db"] for row in kept(settings)] == ["-67.25", "-67.1", "-67.5"]
    assert "no answer. Try again, or type the level." in talk.said
    assert "Enter = from test meter" in talk.prompts[0]


def test_a_tick_of_handling_stands_on_the_readings_of_its_swap_and_can_be_undone(settings, script, plan, order_csv):
    """A tick is typed when the swap is over and the next one is up already; it must not reach the next wire."""
    run(settings, script, ["66", "66.1", "66.2", "68", "t 1 4 springs open", "68.1", "q"])
    found = read_readings(settings.path, plan, read_order(order_csv))
    assert found.table["handling"].fillna(0.0).tolist() == [4.0] * 3 + [0.0] * 2
    assert found.table["handling_note"].tolist()[0] == "springs open"
    run(settings, script, ["u", "u", "q"])  # the reading of after, then the tick
    assert {row["handling"] for row in rows_of(settings)} == {""}
    run(settings, script, ["t 1 4", "t 1 2 kinks", "u", "b", "q"])
    assert [row["handling"] for row in kept(settings) if row["swap"] == "1"] == ["2"] * 3


@pytest.mark.parametrize(("line", "said"), [
    ("t 1 6", "from 1 (a nuisance) to 5 (a pleasure): got 6"), ("t 1", "got nothing"), ("t 9 4", "begun so far: 1"),
])
def test_a_tick_that_cannot_be_is_refused(settings, script, line, said):
    talk = run(settings, script, ["66", line, "q"])
    assert any(said in text for text in talk.said)
    assert {row["what"] for row in rows_of(settings)} == {"reading"}


def test_the_reading_end_without_names_ticks_no_wire(tmp_path, facts, set_clock, script, order_csv):
    bare = Settings(tmp_path / "r.csv", read_swap_list(order_csv.with_name("order.reading-end.csv")), facts,
                    clock=set_clock)
    talk = run(bare, script, ["66", "t 1 4", "q"])
    assert any("ticked at the hanging end" in text for text in talk.said)
    assert "handling" not in rows_of(bare)[0]


def test_the_monitor_of_the_source_comes_off_the_levels(settings, script, plan, order_csv):
    run(settings, script, ["m 0,5", "66", "66", "66", "m −0.5", "66", "m 0", "66", "q"])
    found = read_readings(settings.path, plan, read_order(order_csv))
    assert found.table["level_db"].tolist() == [-66.5] * 3 + [-65.5, -66.0] and found.source_monitored


def test_a_monitor_on_some_readings_alone_is_asked_about(settings, script):
    talk = run(settings, script, ["66", "m 0.5", "q"])
    assert any("every reading or on none" in text for text in talk.said)
    settings.path.unlink()
    talk = run(settings, script, ["m 0.5", "66", "66", "66", "66", "n", "66", "y", "q"])
    assert sum("this swap has none yet" in text for text in talk.prompts) == 2
    assert [row["source_db"] for row in kept(settings)] == ["0.5"] * 3 + [""]


class Interrupts:
    """A terminal at which Ctrl-C is pressed after some lines."""

    def __init__(self, lines):
        self.lines, self.said = list(lines), []

    def say(self, text):
        self.said.append(text)

    def ask(self, prompt):
        if not self.lines:
            raise KeyboardInterrupt
        return self.lines.pop(0)


def test_ctrl_c_says_what_is_on_the_disk_and_loses_nothing(settings):
    talk = Interrupts(["66", "66.1"])
    with pytest.raises(KeyboardInterrupt):
        record(settings, talk)
    assert "2 readings of 1 swap on the disk" in talk.said[-1] and len(kept(settings)) == 2


def test_a_full_disk_with_nobody_to_make_room_is_a_fault(settings, script, monkeypatch):
    def full(*_):
        raise FileError(Fault("the disk is full", "readings.csv"))

    monkeypatch.setattr("antexp.field.recorder.save", full)
    with pytest.raises(FileError, match="the disk is full"):
        record(settings, script(["66"]))
