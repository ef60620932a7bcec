"""Taking a CSV file apart: what is fine, what is refused, and that mad files cannot fill the memory."""

import csv
import tracemalloc

import pytest

from antexp.errors import FileError, ReadingsError
from antexp.field import csv_table
from antexp.field.csv_table import read_csv_table

KNOWN = ("swap", "candidate", "level_db")


def read(path):
    return read_csv_table(path, "readings file", KNOWN)


def refusal(path) -> str:
    with pytest.raises(ReadingsError) as caught:
        read(path)
    return str(caught.value)


@pytest.mark.parametrize(("separator", "word"), [
    (";", "semicolon"), ("\t", "tab"), ("|", "vertical bar"), (" ", "space")])
def test_a_wrong_separator_is_named(write, separator, word):
    text = f"swap{separator}candidate{separator}level_db\n1{separator}a{separator}-45,3\n"
    message = refusal(write(text))
    assert f"line 1: the columns are separated by a {word}" in message and "allowed: commas" in message


def test_a_spreadsheets_separator_mark_is_named(write):
    assert "a spreadsheet's separator mark" in refusal(write("sep=,\nswap,candidate,level_db\n1,a,-45\n"))


def test_a_semicolon_in_a_name_is_no_separator(write):
    assert read(write("swap,candidate; its reel,level_db\n1,a;b,-45\n")).texts("candidate; its reel")[0] == "a;b"


def test_cells_with_commas_quotes_and_line_ends_keep_their_lines(write):
    cells = read(write('swap,candidate,level_db\n1,"a, ""thick""\nsecond line",-45\n\n2,b,-46\n'))
    assert cells.texts("candidate").tolist() == ['a, "thick"\nsecond line', "b"]
    assert cells.lines.tolist() == [2, 5]


def test_a_file_with_and_without_quotes_is_taken_apart_alike(write):
    rows = ["swap,candidate,level_db", "", *(f"{i},c{i % 7},-{i % 90}" for i in range(1, 20_001))]
    rows[9_000:9_000] = ["", " , ,", "1,2", ",,"]
    plain = read(write("\n".join(rows)))
    quoted = read(write("\n".join(rows).replace("20000,", '"20000",'), "quoted.csv"))
    for column in KNOWN:
        assert plain.texts(column).tolist() == quoted.texts(column).tolist()
    assert plain.lines.tolist() == quoted.lines.tolist()
    assert [len(cells.faults) for cells in (plain, quoted)] == [1, 1]
    assert "line 9003" in str(plain.faults[0]) and "line 9003" in str(quoted.faults[0])
    assert plain.lines[[0, -1]].tolist() == [3, 20_006] and len(plain) == 20_000


@pytest.mark.parametrize(("text", "line", "reason"), [
    ('swap,candidate,level_db\n1,a,-45\n2,"b,-46\n3,c,-47\n', 3, "a quote that is opened and never closed"),
    ('swap,candidate,level_db\n1,"a"x,-45\n', 2, "something between a closing quote and the next comma"),
])
def test_broken_quotes_are_refused_with_their_line(write, text, line, reason):
    assert f"line {line}: a row cannot be taken apart into cells: got {reason}" in refusal(write(text))


def test_rows_of_another_length_wait_with_the_result(write):
    cells = read(write("swap,candidate,level_db\n1,a\n2,b,-46\n3,c,-47,8,9\n"))
    assert cells.lines.tolist() == [3]
    assert len(cells.faults) == 1
    assert "lines 2, 4: a row has not as many cells as the header (2 lines)" in str(cells.faults[0])
    assert "got 2 cells, 5 cells; allowed: 3 cells" in str(cells.faults[0])


def test_nul_bytes_are_refused_with_their_lines(write):
    assert "line 3: the readings file holds NUL bytes" in refusal(write(b"swap,level_db\n1,-45\n2,\x00\n"))


def test_a_hundred_thousand_columns_are_refused(write):
    names = ",".join(f"c{i}" for i in range(100_000))
    assert "there are too many columns: got 100000; allowed: up to 1000" in refusal(write(f"{names}\n{names}\n"))


def test_a_cell_too_large_for_a_table_is_refused(write):
    size = csv.field_size_limit() + 1
    message = refusal(write(f"swap,candidate,level_db\n1,{'a' * size},-45\n"))
    assert "line 2: a row cannot be taken apart into cells: got a cell of more than" in message


def test_an_endless_line_is_refused_before_it_is_taken_apart(write):
    path = write("swap,candidate,level_db\n1,a,-45\n" + "," * 50_000_000)
    tracemalloc.start()
    message = refusal(path)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert "line 3: a line is too long for a table made in the field" in message
    # bytes and text of the file and one copy while its line ends are made equal; cells would take 8 bytes a comma
    assert peak < 5 * 50_000_000


def test_a_file_too_large_to_be_a_table_is_refused(write, monkeypatch):
    monkeypatch.setattr(csv_table, "MAX_BYTES", 2**20)
    with pytest.raises(FileError, match="the readings file is too large: got more than 1 MiB"):
        read(write("swap,candidate,level_db\n" + "1,a,-45\n" * 200_000))


def test_an_endless_device_is_refused(monkeypatch):
    monkeypatch.setattr(csv_table, "MAX_BYTES", 2**20)
    with pytest.raises(FileError, match="too large"):
        read("/dev/zero")
