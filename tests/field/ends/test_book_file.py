"""The record on disk."""

import csv
import io
import os

import pytest
from hypothesis import given
from hypothesis import strategies as st

from antexp.errors import FileError, ReadingsError
from antexp.field import book_file
from antexp.field.book_columns import READING_COLUMNS
from antexp.field.book_file import read_end_file, remove_leftovers, save, to_csv
from antexp.spreadsheet import plain_cell, safe_cell

ROW = {"swap": "1", "block": "1", "word": "banner", "what": "remark", "entry": "1", "keep": "0",
       "time": "2026-05-01T09:30:00+02:00", "note": "fine"}


@pytest.mark.parametrize("text", ["=1+1", "+cmd", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "=HYPERLINK(\"x\")"])
def test_no_cell_is_a_formula(text):
    # OWASP, "CSV Injection": a cell that begins with = + - @ tab or carriage return may be executed
    assert not safe_cell(text).startswith(("=", "+", "-", "@", "\t", "\r"))


@pytest.mark.parametrize("text", ["-67.2", "+3", "67", "", "S9+10", "it's fine", "2026-05-01T09:30:00+02:00"])
def test_numbers_and_plain_text_stay_as_they_are(text):
    assert safe_cell(text) == text == plain_cell(text)


@given(st.text(st.characters(exclude_categories=("Cc", "Cs"), exclude_characters="\u2028\u2029"), max_size=30))
def test_text_comes_back_as_it_was_written(text):
    row = {**ROW, "note": text}
    cells = next(csv.DictReader(io.StringIO(to_csv(READING_COLUMNS, [row]))))
    assert plain_cell(cells["note"]) == text


def test_what_was_saved_is_read_again(tmp_path):
    path = tmp_path / "r.csv"
    content = save(path, READING_COLUMNS, [ROW, {**ROW, "entry": "2", "note": "=1, \"two\""}])
    assert path.read_bytes() == content
    found = read_end_file(path, READING_COLUMNS, "readings file")
    assert [row["note"] for row in found.rows] == ["fine", "=1, \"two\""]
    assert found.lines == (2, 3) and found.columns == READING_COLUMNS


def test_a_file_with_its_head_alone_is_an_empty_record(tmp_path):
    path = tmp_path / "r.csv"
    save(path, READING_COLUMNS, [])
    assert read_end_file(path, READING_COLUMNS, "readings file").rows == ()


@pytest.mark.parametrize(("change", "message"), [
    (lambda text: text.replace("entry", "ticket"), "written by neither a page nor the recorder"),
    (lambda text: text.replace(",1,\n", ",x,\n"), "entry is not a number that rises"),
    (lambda text: text + "1,1\n", "row"),
])
def test_a_file_of_something_else_is_refused(tmp_path, change, message):
    path = tmp_path / "r.csv"
    path.write_text(change(to_csv(READING_COLUMNS, [ROW])))
    with pytest.raises(ReadingsError, match=message):
        read_end_file(path, READING_COLUMNS, "readings file")


def test_saving_syncs_the_file_before_it_takes_its_place_and_the_folder_after(tmp_path, monkeypatch):
    steps = []
    fsync, replace = os.fsync, os.replace
    monkeypatch.setattr(os, "fsync", lambda handle: (steps.append("fsync"), fsync(handle))[1])
    monkeypatch.setattr(os, "replace", lambda *names: (steps.append("replace"), replace(*names))[1])
    save(tmp_path / "r.csv", READING_COLUMNS, [ROW])
    assert steps == ["fsync", "replace", "fsync"]


def test_a_failed_save_leaves_the_old_record(tmp_path, monkeypatch):
    path = tmp_path / "r.csv"
    save(path, READING_COLUMNS, [ROW])
    before = path.read_bytes()

    def full(handle):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="No space left"):
        save(path, READING_COLUMNS, [ROW, ROW])
    assert path.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["r.csv"]


def test_leftovers_of_a_killed_writer_are_removed_and_nothing_else(tmp_path):
    path = tmp_path / "r[1].csv"
    for name in ("r[1].csv", ".r[1].csv.abc.part", ".r1.csv.abc.part", "other.part"):
        (tmp_path / name).write_text("x")
    remove_leftovers(path)
    assert sorted(file.name for file in tmp_path.iterdir()) == [".r1.csv.abc.part", "other.part", "r[1].csv"]


def test_a_folder_that_cannot_be_synced_is_no_reason_to_lose_a_reading(tmp_path, monkeypatch):
    def refuse(*_):
        raise OSError(22, "not here")

    monkeypatch.setattr(os, "open", refuse)
    book_file.sync_folder(tmp_path)  # Windows: a folder cannot be opened
