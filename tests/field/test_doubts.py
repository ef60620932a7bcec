"""Checking a record: every doubt a file can raise, what it would do, and faults and doubts in one pass."""

import json

import numpy as np
import pytest

from antexp.errors import FileError
from antexp.field.doubt import EFFECTS, Doubt
from antexp.field.doubts import check_readings
from antexp.field.level_doubts import lift_db

# In step with the `order` stand-in: two blocks of three swaps, three readings each.
LEVELS = {1: -45.0, 2: -46.2, 3: -45.3, 4: -45.1, 5: -46.4, 6: -45.2}


def rows(**columns: str) -> str:
    """Return a sound file; a keyword adds a column with that cell on every row."""
    lines = [",".join(["swap", "reading", "minutes", "level_db", *columns])]
    for swap, level in LEVELS.items():
        for reading in (1, 2, 3):
            minutes = (swap - 1) % 3 * 7 + 0.2 * reading
            lines.append(",".join([str(swap), str(reading), f"{minutes:g}", f"{level + 0.1 * (reading - 2):.1f}",
                                   *columns.values()]))
    return "\n".join(lines) + "\n"


def codes(check) -> list[str]:
    return [doubt.code for doubt in check.doubts]


def only(check, code: str) -> Doubt:
    assert codes(check) == [code]
    return check.doubts[0]


def change(text: str, line: int, column: int, cell: str) -> str:
    lines = text.splitlines()
    cells = lines[line - 1].split(",")
    cells[column] = cell
    lines[line - 1] = ",".join(cells)
    return "\n".join(lines) + "\n"


def test_a_sound_record_raises_no_doubt_and_is_counted(write, order):
    path = write(rows())
    check = check_readings(path, order=order)
    assert check.can_be_judged and check.doubts == () and check.faults == ()
    assert check.to_dict() == {
        "readings_file": str(path), "can_be_judged": True, "faults": [], "doubts": [], "rows_without_faults": 18,
        "readings": 18, "swaps": 6, "blocks": 2, "hangings": {"bare copper": 4, "steel wire": 2}, "noise": [],
        "source": None, "times_from": "minutes", "level_form": "level"}


def test_faults_and_doubts_come_in_one_pass(write, order):
    text = change(change(rows(word=""), 3, 3, "-4S.0"), 9, 4, "heron")
    check = check_readings(write(text), order=order)
    assert not check.can_be_judged
    assert [fault.what for fault in check.faults] == ["level_db is not a number"]
    assert codes(check) == ["words-out-of-step"]
    assert check.rows_without_faults == 17
    json.dumps(check.to_dict(), allow_nan=False)


def test_rows_at_fault_are_not_called_missing(write, order):
    text = rows()
    for line in (5, 6, 7):
        text = change(text, line, 3, "x")
    assert check_readings(write(text), order=order).doubts == ()


@pytest.mark.parametrize("text", ["swap,level_db\n", "swap;level_db\n1;-45\n", "swaps,level_db\n1,-45\n",
                                  "swap,candidate,level_db\n1,a,67\n2,b,68\n"])
def test_a_file_that_leaves_nothing_to_look_at_gives_its_faults_alone(write, text):
    check = check_readings(write(text))
    assert check.faults and check.doubts == () and check.rows_without_faults is None
    assert check.to_dict()["faults"][0]["text"] == str(check.faults[0])


def test_a_missing_file_is_refused(tmp_path):
    with pytest.raises(FileError):
        check_readings(tmp_path / "nowhere.csv")


def test_words_of_the_next_swap_say_that_the_ends_were_out_of_step(write, order):
    text = rows(word="")
    for line, word in ((5, "basin"), (8, "cobalt"), (11, "linen")):
        text = change(text, line, 4, word)
    doubt = only(check_readings(write(text), order=order), "words-out-of-step")
    assert (doubt.swaps, doubt.lines) == ((2, 3, 4), (5, 8, 11))
    assert "3 of them are the words of 1 swap later: the two ends were out of step." in doubt.text
    assert "booked to the wrong wire" in doubt.effect


def test_another_wire_than_ordered_is_told_with_its_reason(write, order):
    text = rows(candidate="", correction="")
    for line in (5, 6, 7):
        text = change(change(text, line, 4, "bare copper"), line, 5, "wrong reel")
    check = check_readings(write(text), order=order)
    assert codes(check) == ["another-wire-hung", "hung-once"]
    assert check.doubts[0].swaps == (2,) and "(wrong reel)" in check.doubts[0].text
    assert check.hangings == {"bare copper": 5, "steel wire": 1}


def test_swaps_of_the_order_without_readings_are_told_by_wire(write, order):
    text = "\n".join(rows().splitlines()[:-6]) + "\n"
    check = check_readings(write(text), order=order)
    assert codes(check) == ["swaps-without-readings", "hung-once"]
    assert check.doubts[0].text == ('No readings of 2 swaps of the order (5, 6); by wire: "steel wire" 1, '
                                    '"bare copper" 1.')
    assert check.doubts[1].swaps == (2,)


def test_a_block_without_the_reference_is_doubted(write, order):
    text = "\n".join(line for line in rows().splitlines() if line[0] not in "46") + "\n"
    check = check_readings(write(text), order=order)
    assert [doubt.text for doubt in check.doubts if doubt.code == "reference-missing"] == [
        'The reference "bare copper" did not hang in block 2.']


def test_planned_times_are_doubted(write, order):
    text = "\n".join(",".join(np.delete(line.split(","), 2)) for line in rows().splitlines())
    assert only(check_readings(write(text), order=order), "times-from-order")


def test_numbers_instead_of_times_are_doubted(write):
    text = "swap,candidate,level_db\n1,a,-45\n2,b,-46\n3,a,-45.1\n4,b,-46.1\n"
    assert only(check_readings(write(text)), "times-from-swap-numbers")


def test_a_swap_that_begins_before_the_one_before_it_ends_is_doubted(write, order):
    doubt = only(check_readings(write(change(rows(), 5, 2, "0.3")), order=order), "times-out-of-order")
    assert doubt.swaps == (2,)


def test_a_reading_apart_from_its_swap_is_doubted_and_its_neighbours_are_not(write, order):
    doubt = only(check_readings(write(change(rows(), 7, 3, "-44.0")), order=order), "reading-apart")
    assert doubt.lines == (7,) and "line 7 (swap 2, -44 dB, +2.2 dB)" in doubt.text
    assert "never because of the gap" in doubt.effect


def test_levels_finer_than_the_step_are_doubted(write, order):
    doubt = only(check_readings(write(rows()), order=order, step_db=0.5), "finer-than-step")
    assert "15 of 18 levels are no multiples of the step of 0.5 dB" in doubt.text
    assert check_readings(write(rows()), order=order, step_db=0.1).doubts == ()


def test_equal_levels_are_doubted(write, order):
    text = rows()
    for line in range(2, 20):
        text = change(text, line, 3, "-45")
    assert only(check_readings(write(text), order=order), "all-levels-equal")


def test_noise_within_10_db_is_doubted_with_what_it_adds(write, order):
    text = rows(role="") + "1,1,0,-54,off\n4,1,0,-54.4,off\n"
    check = check_readings(write(text), order=order)
    doubt = only(check, "noise-near")
    assert doubt.swaps == (1, 2, 3, 4, 5, 6)
    # -46.5 over -54.2: 7.7 dB, lifted by -10 log10(1 - 10^-0.77); -44.9: by -10 log10(1 - 10^-0.93)
    assert "the weakest 7.7 dB: noise lifts it by 0.81 dB, the strongest by 0.54 dB" in doubt.text
    facts = check.to_dict()["noise"]
    assert [(f["receiver"], f["readings"], f["noise_db"]) for f in facts] == [("1", 2, -54.2)]
    assert facts[0]["smallest_margin_db"] == pytest.approx(7.7)


def test_noise_well_below_the_levels_raises_no_doubt(write, order):
    assert check_readings(write(rows(role="") + "1,1,0,-98,off\n4,1,0,-92,off\n"), order=order).doubts == ()


@pytest.mark.parametrize("margin", [0.5, 3.0, 10.0, 20.0])
def test_the_lift_is_the_power_of_the_noise(margin):
    # signal and noise as powers: the level read is 10 log10(s + n), the signal alone 10 log10(s)
    noise, read = 1.0, 10 ** (margin / 10)
    assert lift_db(margin) == pytest.approx(margin - 10 * np.log10(read - noise), rel=1e-12)


def test_a_level_no_higher_than_the_noise_is_noise():
    assert lift_db(0.0) == np.inf


def test_a_source_that_moves_is_told_and_its_noise_is_compared_as_read(write, order):
    text = rows(source_db="0", role="")
    for line in (8, 9, 10):
        text = change(text, line, 4, "-2.5")
    text = change(text, 13, 4, "1.5") + "1,1,0,-98,0,off\n"
    check = check_readings(write(text), order=order)
    assert codes(check) == ["reading-apart", "source-moves", "source-jumps-in-swap"]
    assert check.doubts[2].swaps == (4,)
    assert (check.source.lowest_db, check.source.highest_db) == (-2.5, 1.5)
    assert check.noise[0].smallest_margin_db == pytest.approx(51.5)  # -46.5 as read, whatever the source did


def test_a_receiver_that_died_is_told(write):
    lines = [f"{swap},{'ab'[swap % 2]},{swap * 7},{receiver},{-45 - swap / 10}" for swap in range(1, 7)
             for receiver in ("X", "Y") if (receiver, swap) not in {("Y", 5), ("Y", 6)}]
    check = check_readings(write("\n".join(["swap,candidate,minutes,receiver,level_db", *lines])))
    assert only(check, "receiver-missing").swaps == (5, 6)


def test_changed_matching_and_height_are_doubted(write, order):
    text = change(change(rows(swr="1.3", height_m="9"), 5, 4, "1.9"), 11, 5, "8.85")
    check = check_readings(write(text), order=order)
    assert codes(check) == ["swr-changed", "height-changed"]
    assert 'The SWR of "steel wire", specimen "2", went from 1.3 to 1.9' in check.doubts[0].text
    assert check.doubts[0].swaps == (2, 5)
    assert "swap 4 at 8.85 m" in check.doubts[1].text


def test_rows_left_out_are_listed_with_their_notes(write, order):
    text = change(change(rows(keep="1", note=""), 7, 4, "0"), 7, 5, "a carrier came up")
    doubt = only(check_readings(write(text), order=order), "rows-left-out")
    assert doubt.text == "1 reading with keep = 0: 7 (a carrier came up)."


def test_a_lost_minus_and_a_column_with_a_slip_are_doubted(write, order):
    check = check_readings(write(change(rows(places="1"), 4, 3, "44.9")), order=order)
    assert codes(check) == ["reading-apart", "column-not-used", "signs-mixed"]


def test_a_doubt_without_an_explained_effect_cannot_be_made():
    with pytest.raises(KeyError, match="nobody"):
        Doubt("nobody-explained-this", "x")
    assert all(effect.endswith(".") for effect in EFFECTS.values())
