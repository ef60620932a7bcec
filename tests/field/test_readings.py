"""Reading a record: what is taken, and what is asked back."""

from pathlib import Path

import pytest

from antexp.errors import ReadingsError
from antexp.field.readings import read_readings

GOOD = """swap,block,candidate,reading,level_db,minutes
1,1,bare copper,1,-45.1,0
1,1,bare copper,2,-45.2,1
2,1,steel wire,1,-46.1,7.5
2,1,steel wire,2,-46.0,8
"""


@pytest.fixture
def write(tmp_path):
    def _write(text: str | bytes, name: str = "readings.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return _write


def refused(source, *args, **kwargs) -> str:
    with pytest.raises(ReadingsError) as caught:
        read_readings(source, *args, **kwargs)
    return str(caught.value)


def test_a_plain_file_is_taken_as_it_stands(write):
    record = read_readings(write(GOOD))
    assert record.table["swap"].tolist() == [1, 1, 2, 2]
    assert record.table["level_db"].tolist() == [-45.1, -45.2, -46.1, -46.0]
    assert record.table["minutes"].tolist() == [0.0, 1.0, 7.5, 8.0]
    assert record.table["line"].tolist() == [2, 3, 4, 5]
    assert record.table["specimen"].tolist() == ["1"] * 4
    assert record.notices == ()
    assert record.times_from == "minutes"
