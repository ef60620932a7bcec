"""Bad input gets one clear message, exit status 2, no traceback, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest

HEAD = "swap,block,candidate,minutes,level_db\n"
# an invented record: three candidates in three blocks, the reference at both ends
ROWS = [
    (1, 1, "bare", 0, -45.1), (2, 1, "clad", 7, -45.9), (3, 1, "steel", 14, -47.2), (4, 1, "bare", 21, -45.0),
    (5, 2, "bare", 0, -44.8), (6, 2, "steel", 7, -47.0), (7, 2, "clad", 14, -45.2), (8, 2, "bare", 21, -44.5),
    (9, 3, "bare", 0, -45.3), (10, 3, "clad", 7, -45.6), (11, 3, "steel", 14, -47.9), (12, 3, "bare", 21, -45.5),
]  # fmt: skip
GOOD = HEAD + "".join(",".join(map(str, row)) + "\n" for row in ROWS)

PLAN = """candidates = ["bare", "clad", "steel"]
frequency_mhz = 14.2
hours = 5
matter_db = 1
meter = "spectrum analyser"
"""


@pytest.fixture
def record(tmp_path: Path) -> Path:
    path = tmp_path / "readings.csv"
    path.write_text(GOOD, encoding="utf-8")
    return path


def spoilt(record: Path, old: str, new: str) -> Path:
    text = record.read_text(encoding="utf-8")
    assert old in text
    record.write_text(text.replace(old, new, 1), encoding="utf-8")
    return record


def refused(ran, *words: str) -> None:
    assert ran.status == 2, ran
    assert ran.out == ""
    assert "Traceback" not in ran.err
    for word in words:
        assert word in ran.err, ran.err


def test_the_record_these_tests_spoil_is_good(antexp, record):
    ran = antexp("judge", record)
    assert ran.status == 0
    assert "steel" in ran.out


def test_missing_file(antexp, tmp_path):
    refused(antexp("judge", tmp_path / "none.csv"), "none.csv")


def test_empty_file(antexp, record):
    record.write_text("", encoding="utf-8")
    refused(antexp("judge", record), "empty")


def test_not_utf8(antexp, record):
    record.write_bytes(GOOD.encode().replace(b"clad", b"cl\xe4d", 1))
    refused(antexp("judge", record), "UTF-8", "line 3")


def test_wrong_separator(antexp, record):
    record.write_text(GOOD.replace(",", ";"), encoding="utf-8")
    refused(antexp("judge", record), ";")


def test_decimal_comma(antexp, record):
    refused(antexp("judge", spoilt(record, "-45.9", '"-45,9"')), "-45,9", "line 3")


def test_a_letter_for_a_number(antexp, record):
    refused(antexp("judge", spoilt(record, "-45.9", "-4S.9")), "-4S.9", "line 3")


def test_a_blank_level(antexp, record):
    refused(antexp("judge", spoilt(record, "-45.9", "")), "line 3")


@pytest.mark.parametrize("value", ["nan", "inf", "-inf", "-4590"])
def test_an_impossible_level(antexp, record, value):
    refused(antexp("judge", spoilt(record, "-45.9", value)), value, "line 3")


def test_all_positive_levels_without_a_scale(antexp, record):
    record.write_text(GOOD.replace(",-4", ",4"), encoding="utf-8")
    refused(antexp("judge", record), "dBm", "?")


def test_unknown_candidate(antexp, record, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN, encoding="utf-8")
    refused(antexp("judge", spoilt(record, "clad", "clda"), "--plan", plan), "clda", "clad", "line 3")


def test_a_swap_that_changes_candidate(antexp, record):
    refused(antexp("judge", spoilt(record, "3,1,steel", "2,1,steel")), "swap 2")


def test_a_reading_given_twice(antexp, record):
    text = HEAD.replace("level_db", "reading,level_db") + GOOD.removeprefix(HEAD).replace(",-", ",1,-")
    record.write_text(text + text.splitlines()[-1] + "\n", encoding="utf-8")
    refused(antexp("judge", record), "12")


def test_one_hanging_each_names_the_command_for_bare_tables(antexp, record):
    record.write_text(HEAD + "1,1,bare,0,-45\n2,1,clad,7,-46\n3,1,steel,14,-47\n", encoding="utf-8")
    refused(antexp("judge", record), "once", "antexp gap --table")


def test_a_reference_that_is_not_there(antexp, record):
    refused(antexp("judge", record, "--reference", "stel"), "stel", "steel")


def test_all_levels_identical_with_no_step_declared(antexp, record):
    lines = [",".join([*line.split(",")[:4], "-45"]) for line in GOOD.splitlines()[1:]]
    record.write_text(HEAD + "\n".join(lines) + "\n", encoding="utf-8")
    refused(antexp("judge", record), "What is the meter's step?")


def test_confidence_in_per_cent(antexp, record):
    refused(antexp("judge", record, "--confidence", "95"), "0.95")


def test_unknown_drift(antexp, record):
    refused(antexp("judge", record, "--drift", "bent"), "bent", "steady")


def test_several_faults_come_together(antexp, record):
    spoilt(record, "-45.9", "loud")
    spoilt(record, "-47.2", "louder")
    refused(antexp("judge", record), "loud", "louder")


def test_a_plan_with_a_typo_in_a_key(antexp, record, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN.replace("frequency_mhz", "frequencey_mhz"), encoding="utf-8")
    refused(antexp("judge", record, "--plan", plan), "frequencey_mhz", "frequency_mhz", "line 2")


def test_a_negative_diameter(antexp, record, tmp_path):
    plan = tmp_path / "plan.toml"
    table = '\n[[candidates]]\nname = "bare"\nmaterial = "copper"\ndiameter_mm = -1\n\n[[candidates]]\nname = "clad"\n'
    plan.write_text(PLAN.split("\n", 1)[1] + table, encoding="utf-8")
    refused(antexp("judge", record, "--plan", plan), "diameter_mm", "-1", "line 9")


def test_a_plan_with_confidence_95(antexp, record, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_text(PLAN + "[question]\nconfidence = 95\n", encoding="utf-8")
    refused(antexp("judge", record, "--plan", plan), "confidence", "0.95")


def test_a_folder_where_a_file_belongs(antexp, tmp_path):
    refused(antexp("judge", tmp_path), "folder")


def test_a_file_where_the_folder_belongs(antexp, record, tmp_path):
    blocked = tmp_path / "taken"
    blocked.write_text("mine", encoding="utf-8")
    refused(antexp("judge", record, "-o", blocked), "taken")
    assert blocked.read_text(encoding="utf-8") == "mine"


def test_a_read_only_folder_keeps_what_it_holds(antexp, record, tmp_path, monkeypatch):
    folder = tmp_path / "out"
    folder.mkdir()
    (folder / "results.json").write_text("old", encoding="utf-8")

    def no_writing(*args: object, **kwargs: object) -> None:
        raise PermissionError(13, "Permission denied")

    # the suite may run as root, whom no file mode stops; so the refusal comes from the call that makes the file
    monkeypatch.setattr("antexp.placing.tempfile.mkstemp", no_writing)
    refused(antexp("judge", record, "-o", folder), "Permission denied")
    assert [path.name for path in folder.iterdir()] == ["results.json"]
    assert (folder / "results.json").read_text(encoding="utf-8") == "old"


def test_the_input_is_never_written_to(antexp, record, tmp_path):
    before = record.read_bytes()
    assert antexp("judge", record, "-o", tmp_path / "out").status == 0
    assert record.read_bytes() == before
