"""A warning is data: a code that is explained, and a text."""

import re

import pytest

from antexp.notices import CODES, Notice


def test_a_code_that_nobody_explained_is_refused():
    with pytest.raises(KeyError, match=r"warning code 'no_such_thing' is not in antexp\.notices\.CODES"):
        Notice("no_such_thing", "Something is odd.")


@pytest.mark.parametrize("code", sorted(CODES))
def test_every_code_is_a_word_for_programs_with_a_meaning_for_people(code):
    assert re.fullmatch(r"[a-z0-9]+([_-][a-z0-9]+)*", code)
    assert CODES[code].endswith(".") and len(CODES[code].split()) > 3
    assert Notice(code, "Read this.").to_dict() == {"code": code, "text": "Read this."}
