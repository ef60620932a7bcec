"""Text that is read whatever wrote it, faults that name the file, and files that are written whole."""

from __future__ import annotations

import errno
import inspect
import os
import sys

import pytest

from antexp import files
from antexp.errors import FileError


def fault_of(call, *arguments, **named):
    """Return the one fault that a call ends in."""
    with pytest.raises(FileError) as caught:
        call(*arguments, **named)
    assert len(caught.value.faults) == 1
    return caught.value.faults[0]


@pytest.mark.parametrize("raw", [b"a\nb\n", b"a\r\nb\r\n", b"a\rb\r", b"\xef\xbb\xbfa\r\nb\n"])
def test_any_line_ends_and_a_mark_are_read_alike(tmp_path, raw):
    (tmp_path / "t").write_bytes(raw)
    assert files.read_text(tmp_path / "t", "plan") == "a\nb\n"


@pytest.mark.parametrize(
    ("raw", "where", "said"),
    [
        (b"", "", "the plan is empty"),
        (b"\xef\xbb\xbf \r\n\t", "", "the plan is empty"),
        (b"ok\nH\xf6he\n", ", line 2", "the plan is not UTF-8 text: got byte 0xf6; allowed: UTF-8."),
        (b"ok\nok\n\x1b[2J", ", line 3", "the plan holds control characters: got U+001B."),
    ],
)
def test_text_at_fault_is_named_with_its_line(tmp_path, raw, where, said):
    path = tmp_path / "t"
    path.write_bytes(raw)
    fault = fault_of(files.read_text, path, "plan")
    assert fault.where == f"{path}{where}" and f"{path}{where}: {said}" in str(fault)


def test_a_file_that_is_not_there_and_a_folder_in_its_place(tmp_path):
    missing = str(fault_of(files.read_raw, tmp_path / "no", "readings file"))
    assert missing == f"{tmp_path / 'no'}: there is no such readings file. Check the name and the folder."
    folder = str(fault_of(files.read_raw, tmp_path, "plan"))
    assert folder == f"{tmp_path}: a folder stands where the plan belongs. Name the file inside it."


def test_what_the_system_refuses_to_read_is_told_in_its_words(tmp_path):
    (tmp_path / "ring").symlink_to(tmp_path / "ring")
    ring = fault_of(files.read_raw, tmp_path / "ring", "plan")
    assert (ring.what, ring.got) == ("the plan cannot be read", os.strerror(errno.ELOOP))
    # no error of the system: the name itself is none
    assert fault_of(files.read_raw, "a\0b", "plan").got == "embedded null byte"


def test_a_file_of_just_the_largest_size_is_read_and_one_byte_more_is_not(tmp_path):
    most = 2 * 2**20  # of two pieces, as it is read
    (tmp_path / "t").write_bytes(b"x" * most)
    assert files.read_raw(tmp_path / "t", "log", max_bytes=most) == b"x" * most
    with open(tmp_path / "t", "ab") as stream:
        stream.write(b"y")
    fault = fault_of(files.read_raw, tmp_path / "t", "log", max_bytes=most)
    assert (fault.got, fault.allowed) == ("more than 2 MiB", "up to 2 MiB") and fault.what == "the log is too large"
    assert len(files.read_raw(tmp_path / "t", "log")) == most + 1  # no limit was asked


@pytest.mark.parametrize(
    ("document", "bad"),
    [
        ({"a": ["b", {"c\t\n": 1.5}]}, False), ("\x7f", True), ({"a": [["\ud800"]]}, True), ({"k\x00": None}, True),
        ([1, None, True], False),
    ],
)  # fmt: skip
def test_text_that_no_page_could_hold_is_found_anywhere(document, bad):
    assert files.has_unwritable(document) == bad


def test_a_folder_where_a_file_is_to_be_written(tmp_path):
    (tmp_path / "old").write_text("old")
    (tmp_path / "day").mkdir()
    fault = fault_of(files.write_all_whole, {tmp_path / "old": "new", tmp_path / "day": "new"})
    said = "a folder stands where a file is to be written. Name a file, or move the folder."
    assert str(fault) == f"{tmp_path / 'day'}: {said}"
    assert (tmp_path / "old").read_text() == "old" and sorted(p.name for p in tmp_path.iterdir()) == ["day", "old"]


@pytest.mark.parametrize("links", [True, False], ids=["second names", "a disk without second names"])
def test_when_the_last_file_fails_the_first_get_their_content_back(tmp_path, monkeypatch, links):
    for name in "ab":
        (tmp_path / name).write_text(f"old {name}")
    real = os.replace

    def refuse(source, target):
        if os.fspath(target).endswith("b") and "old" not in os.fspath(source):
            raise OSError(errno.EACCES, "Permission denied")
        real(source, target)

    def no_link(*arguments, **named):
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(files.os, "replace", refuse)
    if not links:
        monkeypatch.setattr(files.os, "link", no_link)
    fault = fault_of(files.write_all_whole, {tmp_path / name: "new" for name in "ab"})
    assert fault.got == "Permission denied" and "Nothing was changed" in fault.do
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {"a": "old a", "b": "old b"}


def test_where_nothing_can_be_put_back_the_old_content_is_kept_and_named(tmp_path, monkeypatch):
    """From the third file on every rename is refused, as where a share changes its rights meanwhile."""
    for name in "ac":
        (tmp_path / name).write_text(f"old {name}")
    real, refused = os.replace, []

    def refuse(source, target):
        if os.fspath(target).endswith("c") or refused:
            refused.append(target)
            raise PermissionError(errno.EACCES, "Permission denied", os.fspath(source), None, os.fspath(target))
        real(source, target)

    monkeypatch.setattr(files.os, "replace", refuse)
    monkeypatch.setattr(files.Path, "unlink", lambda *arguments, **named: refuse("", "b"))
    fault = fault_of(files.write_all_whole, {tmp_path / name: "new" for name in "abc"})
    monkeypatch.undo()
    found = {path.name: path.read_text() for path in tmp_path.iterdir()}
    (kept,) = set(found) - set("abc")
    assert found == {"a": "new", "b": "new", "c": "old c", kept: "old a"}
    assert fault.where == str(tmp_path / "c") and "Nothing was changed" not in fault.do
    assert f"{tmp_path / 'a'} is new, its old content is kept in {tmp_path / kept}" in fault.do
    assert f"{tmp_path / 'b'} is new" in fault.do


def test_a_disk_without_second_names_takes_the_new_files_too(tmp_path, monkeypatch):
    def no_link(*arguments, **named):
        raise NotImplementedError

    monkeypatch.setattr(files.os, "link", no_link)
    (tmp_path / "a").write_text("old")
    files.write_all_whole({tmp_path / "a": "new", tmp_path / "b": b"\x00"})
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a", "b"]  # what was kept meanwhile is gone
    assert (tmp_path / "a").read_text() == "new" and (tmp_path / "b").read_bytes() == b"\x00"


def test_a_system_without_locks_on_folders_writes_without_turns(tmp_path, monkeypatch):
    """As on Windows, where there is no such module."""
    monkeypatch.setitem(sys.modules, "fcntl", None)
    files.write_all_whole({tmp_path / "a": "1", tmp_path / "b": "2"})
    assert [(tmp_path / name).read_text() for name in "ab"] == ["1", "2"]


def test_a_disk_whose_folders_cannot_be_locked_is_written_to(tmp_path, monkeypatch):
    fcntl = pytest.importorskip("fcntl")

    def no_locks(*arguments):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(fcntl, "flock", no_locks)
    files.write_whole(tmp_path / "a", "1")
    assert (tmp_path / "a").read_text() == "1"


def test_folders_are_made_or_the_reason_is_told(tmp_path):
    made = files.make_folder(tmp_path / "a" / "b")
    assert made.is_dir() and files.make_folder(made) == made
    (tmp_path / "file").write_text("")
    fault = fault_of(files.make_folder, tmp_path / "file")
    assert fault.what == "the folder cannot be made" and fault.got == os.strerror(errno.EEXIST)
    assert fault.where == str(tmp_path / "file") and fault.do == "Choose another folder."


def test_a_new_file_has_the_rights_that_the_user_gives_new_files(tmp_path):
    before = os.umask(0o027)
    try:
        files.write_whole(tmp_path / "a", "1")
        assert os.umask(0o027) == 0o027  # asking for the mask leaves it
    finally:
        os.umask(before)
    assert (tmp_path / "a").stat().st_mode & 0o777 == 0o640


def test_any_file_has_a_largest_size(tmp_path):
    assert inspect.signature(files.read_raw).parameters["max_bytes"].default == files.LARGEST_FILE == 512 * 2**20
    path = tmp_path / "much.bin"
    with path.open("wb") as stream:
        stream.truncate(2**20 + 1)  # a hole: nothing of it stands on the disk
    with pytest.raises(FileError, match="the file to keep is too large: got more than 1 MiB; allowed: up to 1 MiB"):
        files.read_raw(path, "file to keep", 2**20)
    path.write_bytes(b"1" * 2**20)
    assert len(files.read_raw(path, "file to keep", 2**20)) == 2**20
