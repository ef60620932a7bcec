"""Whatever stands in the file: it is read, or refused as the user's input; never any other exception."""

import tempfile
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from antexp.errors import FileError, ReadingsError
from antexp.field.readings import read_readings

VALID = b"""swap,block,candidate,specimen,place,receiver,reading,level_db,level_low_db,level_high_db,time,swr,feed_ohm,\
source_db,role,height_m,keep,note
1,1,bare copper,1,oak,X,1,-45.1,,,2026-05-01T10:00,1.2,62+9j,0.1,,9,1,
1,1,bare copper,1,oak,X,2,-45.2,,,2026-05-01T10:01,,,0.1,,,1,gusty
2,1,steel wire,2,oak,X,1,,-50,-46,2026-05-01T10:07,1.5,48-4j,0.2,reference,9,1,"a, b"
2,1,,,,X,1,-98,,,2026-05-01T10:08,,,0.2,off,,1,
3,2,bare copper,1,oak,X,1,-45,,,2026-05-01T12:00,,,0.1,on,,0,
4,2,steel wire,1,oak,X,1,-46,,,2026-05-01T12:07,,,0.1,,,,
"""
ORDER = SimpleNamespace(table=pd.DataFrame({
    "swap": [1, 2, 3, 4], "block": ["1", "1", "2", "2"], "position": [1, 2, 1, 2], "minutes": [0.0, 7.0, 0.0, 7.0],
    "word": ["maple", "heron", "basin", "cobalt"], "candidate": ["bare copper", "steel wire"] * 2,
    "specimen": ["1", "2", "1", "1"], "place": ["oak"] * 4, "role": ["reference", "candidate"] * 2}))
LEVELS = ["level_db", "level_low_db", "level_high_db"]
TELLING = b'\x00\x1f ",;.\t\n\r+-\xe2\x88\x920123456789eEnaifjNS#=_|\xff\xe2\x80\xa8\xef\xbb\xbf'


def read_or_refuse(content: bytes, **given) -> None:
    """Read; a record that is taken must be sound."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.csv"
        path.write_bytes(content)
        try:
            record = read_readings(path, **given)
        except (ReadingsError, FileError) as error:
            assert error.faults and all(fault.what and fault.where for fault in error.faults)
            assert len(str(error)) < 100_000
            return
        assert path.read_bytes() == content
    table = record.table
    assert len(table) > 0
    assert np.isfinite(table["minutes"]).all() and (table["minutes"] >= 0).all()
    assert (table["swap"] >= 1).all()
    for label in ("block", "candidate", "specimen", "place", "receiver"):
        assert (table[label].astype(str).str.strip() != "").all()
    assert not table.duplicated(["swap", "reading", "receiver"]).any()
    assert (table.groupby("swap")[["block", "candidate", "specimen", "place"]].nunique() == 1).all(axis=None)
    assert (table["level_db"].notna() | table[LEVELS[1:]].notna().all(axis=1)).all()
    assert (table[LEVELS].abs().fillna(0) <= 600).all(axis=None)


def test_the_valid_file_is_taken():
    read_or_refuse(VALID)
    read_or_refuse(VALID, order=ORDER)


@pytest.mark.parametrize("content", [VALID[:cut] for cut in range(0, len(VALID), 7)], ids=len)
def test_a_file_cut_off_anywhere_is_read_or_refused(content):
    read_or_refuse(content)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_bytes_put_anywhere_are_read_or_refused(data):
    content = bytearray(VALID)
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(content) - 1))
        length = data.draw(st.integers(0, 4))
        new = data.draw(st.lists(st.sampled_from(TELLING), max_size=4) | st.binary(max_size=6))
        content[at : at + length] = bytes(new)
    read_or_refuse(bytes(content), order=data.draw(st.sampled_from([None, ORDER])))


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_any_cell_may_hold_anything(data):
    rows = [line.split(",") for line in VALID.decode().replace('"a, b"', "ab").splitlines()]
    for _ in range(data.draw(st.integers(1, 4))):
        row, column = data.draw(st.integers(0, len(rows) - 1)), data.draw(st.integers(0, 17))
        rows[row][column] = data.draw(st.sampled_from([
            "", " ", "nan", "inf", "1e308", "-1e308", "9" * 400, "0", "-0", "1.0", "٣", "½", "S9+10", "10:00", "24:00",
            "9999-12-31T23:59:59", "0001-01-01T00:00+14:00", "2026-W18-5T10:00", "1e999", "(62+9j)", "j", "off", "NO",
            "−45", "a\u0301", "\u202e", "=1+1"]) | st.text(st.characters(codec="utf-8", exclude_characters=',"\n\r\0'),
                                                          max_size=8))
    read_or_refuse("\n".join(",".join(row) for row in rows).encode(),
                   order=data.draw(st.sampled_from([None, ORDER])))


CELLS = st.one_of(
    st.none(), st.booleans(), st.integers(-3, 10), st.floats(), st.text(max_size=4), st.binary(max_size=2),
    st.complex_numbers(), st.just(pd.NA), st.just(pd.NaT), st.lists(st.integers(), max_size=2),
    st.just(pd.Timestamp("2026-05-01")), st.just(10**400), st.just("\ud800"))
NAMES = [
    ["swap", "candidate", "level_db", "time", "minutes", "feed_ohm"],
    ["swap", "candidate", "level_s", "keep", "role", "swr"],
    ["swap", "candidate", "level_low_db", "level_high_db", "reading", "block"],
    ["swap", "swap", "level_db", 1, None, ("a", 2)],
]


@settings(max_examples=200, deadline=None)
@given(st.lists(st.tuples(*[CELLS] * 6), max_size=5), st.sampled_from(NAMES))
def test_any_table_is_read_or_refused(rows, names):
    frame = pd.DataFrame({i: pd.Series([row[i] for row in rows], dtype=object) for i in range(6)})
    frame.columns = pd.Index(names, dtype=object)
    try:
        read_readings(frame)
    except ReadingsError as error:
        assert error.faults
