"""JSON that any reader takes (RFC 8259: no NaN, no infinities, keys are strings)."""

from __future__ import annotations

import json
import math
from pathlib import PurePosixPath

import numpy as np
import pytest

from antexp.json_text import as_json, plain


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (math.nan, None), (math.inf, None), (-math.inf, None), (np.float64("nan"), None), (np.float64(1.5), 1.5),
        (np.int64(3), 3), (np.bool_(True), True), (False, False), (None, None), ("Ω", "Ω"),
        ((1, np.float32(0.5)), [1, 0.5]), (np.array([[1.0, math.nan]]), [[1.0, None]]),
        ({7: (math.inf,)}, {"7": [None]}), (PurePosixPath("a/b"), "a/b"),
    ],
)  # fmt: skip
def test_values_become_what_json_holds(value: object, expected: object):
    found = plain(value)
    assert found == expected
    assert type(found) is type(expected)


def test_the_text_is_read_back_by_the_standard_library_without_constants():
    def refuse(name: str) -> None:
        raise AssertionError(f"{name} is no JSON")

    text = as_json({"gap_db": math.nan, "wire": "Kupfer, Ø 2 mm"})
    assert json.loads(text, parse_constant=refuse) == {"gap_db": None, "wire": "Kupfer, Ø 2 mm"}
    assert "Ø" in text and text.endswith("}\n")
