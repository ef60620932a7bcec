"""The field's commands as a user types them: sheet, record, join; faults and `--json`."""

import io
import json
import time

import pytest

ORDER = """swap,block,position,minutes,word,candidate,specimen,place,role
1,1,1,0,banner,willow wire,1,1,reference
2,1,2,7,garlic,birch wire,1,1,candidate
3,1,3,14,tennis,willow wire,1,1,reference
"""


@pytest.fixture
def order(written):
    return written("order.csv", ORDER)


@pytest.fixture
def typed(monkeypatch):
    def _typed(*lines):
        monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{line}\n" for line in lines)))

    return _typed


def test_sheet_writes_five_files_beside_the_order_and_says_what_each_is(antexp, order):
    ran = antexp("sheet", order)
    assert ran.status == 0 and ran.err == ""
    names = {path.name for path in order.parent.glob("order.*.html")}
    assert names == {f"order.{name}.html" for name in ("hanging-sheet", "reading-sheet", "card", "hanging-page",
                                                       "reading-page")}
    assert "I assume a meter that shows dBm" in ran.out and "without names" in ran.out
    first = (order.parent / "order.reading-page.html").read_bytes()
    antexp("sheet", order)
    assert (order.parent / "order.reading-page.html").read_bytes() == first


def test_sheet_json_is_one_document(antexp, order, tmp_path):
    ran = antexp("sheet", order, "-o", tmp_path / "out", "--json")
    document = json.loads(ran.out)
    assert len(document["files"]) == 5 and (tmp_path / "out" / "order.card.html").exists()


def test_sheet_of_the_reading_ends_file_makes_what_that_end_may_know(antexp, tmp_path):
    path = tmp_path / "order.reading-end.csv"
    path.write_text("".join(",".join(line.split(",")[:5]) + "\n" for line in ORDER.splitlines()))
    assert antexp("sheet", path).status == 0
    assert {file.name for file in tmp_path.glob("*.html")} == {
        "order.reading-sheet.html", "order.card.html", "order.reading-page.html"}


def test_record_types_goes_on_and_tells_in_json(antexp, order, typed, tmp_path):
    readings = tmp_path / "readings.csv"
    typed("67", "67.1")
    ran = antexp("record", order, "-o", readings)
    assert ran.status == 0 and "swap 1, word banner: reading 1 of 3" in ran.out and "willow" not in ran.out
    typed("67.2", "66", "q")
    ran = antexp("record", order, "-o", readings, "--json")
    assert json.loads(ran.out) == {"file": str(readings), "readings": 4, "swaps": 2, "swaps_left": 2}
    assert "word garlic" in ran.err


def test_join_writes_readings_that_check_accepts(antexp, order, typed, tmp_path):
    end = tmp_path / "reading-end.csv"
    typed("67", "67.1", "67.2", "66", "66.1", "66.2", "67", "67.1", "67.2", "q")
    antexp("record", order, "-o", end)
    ran = antexp("join", order, end, "-o", tmp_path / "readings.csv", "--json")
    assert json.loads(ran.out)["readings"] == 9
    told = antexp("join", order, end, "-o", tmp_path / "again.csv")
    assert "9 readings of 3 swaps" in told.out and (tmp_path / "again.csv").exists()
    assert antexp("check", tmp_path / "readings.csv", "--order", order).status == 0


@pytest.mark.parametrize(("words", "message"), [
    (("record", "ORDER", "-o", "r.csv", "--from", "radio", "x"), "this is no source of levels"),
    (("record", "ORDER", "-o", "r.csv", "--from", "rig", "nowhere"), "not the address of a rigctld server"),
    (("record", "ORDER", "-o", "r.csv", "--from", "log", "log.csv"), "needs to know when each swap was up"),
    (("record", "none.csv", "-o", "r.csv"), "no such order file"),
    (("join", "ORDER", "none.csv", "-o", "r.csv"), "there is no such file of one end"),
    (("join", "ORDER", "ORDER", "-o", "ORDER"), "would replace one of the files"),
    (("sheet", "none.csv"), "no such order file"),
])
def test_what_cannot_be_done_is_one_message_and_writes_nothing(antexp, order, monkeypatch, words, message):
    monkeypatch.chdir(order.parent)
    before = sorted(path.name for path in order.parent.iterdir())
    ran = antexp(*[str(order) if word == "ORDER" else word for word in words])
    assert ran.status == 2 and ran.out.count("\n") <= 1 and message in ran.err and "Traceback" not in ran.err
    assert sorted(path.name for path in order.parent.iterdir()) == before


def test_a_log_is_never_cut_into_a_record_that_is_there(antexp, order, tmp_path):
    there = tmp_path / "readings.csv"
    there.write_text("precious\n")
    ran = antexp("record", order, "-o", there, "--from", "log", "log.csv", "--times", "h.csv")
    assert ran.status == 2 and "is there already" in ran.err and there.read_text() == "precious\n"


def test_a_log_is_cut_by_the_command(antexp, order, tmp_path):
    columns = ("swap,block,word,what,time,candidate,specimen,place,swr,height_m,height_mark,handling,"
               "handling_note,keep,note,other_time,entry,left_out_by\n")
    hanging, log = tmp_path / "hanging.csv", tmp_path / "log.csv"
    hanging.write_text(columns + "1,1,banner,up,2026-05-01T09:31:00+02:00,willow wire,1,1,,,,,,1,,,1,\n"
                                 "1,1,banner,down,2026-05-01T09:36:00+02:00,,,,,,,,,1,,,2,\n")
    log.write_text("time,level_db\n" + "".join(f"2026-05-01T09:3{m}:{s:02d},-67.{m}\n" for m in range(8)
                                               for s in range(60)))
    ran = antexp("record", order, "-o", tmp_path / "r.csv", "--from", "log", log, "--times", hanging, "--json")
    assert json.loads(ran.out) == {"file": str(tmp_path / "r.csv"), "readings": 3, "swaps": 1, "warnings": []}


def test_help_is_quick_and_the_commands_stand_in_it(antexp):
    began = time.process_time()
    ran = antexp("--help")
    assert time.process_time() - began < 0.3
    for word in ("sheet", "record", "join"):
        assert f"  {word} " in ran.out
