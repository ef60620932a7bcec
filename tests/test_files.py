"""Files that are read as a whole."""

import inspect

import pytest

from antexp import files
from antexp.errors import FileError


def test_any_file_has_a_largest_size(tmp_path):
    assert inspect.signature(files.read_raw).parameters["max_bytes"].default == files.LARGEST_FILE == 512 * 2**20
    path = tmp_path / "much.bin"
    with path.open("wb") as stream:
        stream.truncate(2**20 + 1)  # a hole: nothing of it stands on the disk
    with pytest.raises(FileError, match="the file to keep is too large: got more than 1 MiB; allowed: up to 1 MiB"):
        files.read_raw(path, "file to keep", 2**20)
    path.write_bytes(b"1" * 2**20)
    assert len(files.read_raw(path, "file to keep", 2**20)) == 2**20
