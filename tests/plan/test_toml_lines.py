"""The line of every key of a TOML text."""

import json
import tomllib

from hypothesis import given
from hypothesis import strategies as st

from antexp.plan.toml_lines import key_lines

TEXT = '''\
# remark = 1
title = """
two = "lines" and a quote: \\"""
still"""
names = [ "a",  # first
  'b = [', "c" ]
inline = { x = 1, deep = { "y.z" = [1, 2] } }
a . b = 2020-01-01 10:00:00
"quoted key" = 1

[table]
x = 1
 [table.sub]  # remark
 y = 'it''' + "'" + '''s'
[[list]]
x = 1
coating.material = "zinc"
[[list]]

x = 2
[list.under]
z = 3
'''


def test_lines_of_every_kind_of_key():
    text = TEXT.replace("'it's'", "'its'")
    lines = key_lines(text)
    assert tomllib.loads(text)
    assert lines["title",] == 2
    assert lines["names",] == 5
    assert [lines["names", i] for i in range(3)] == [5, 6, 6]
    assert lines["inline", "deep", "y.z", 1] == 7
    assert lines["a", "b"] == 8
    assert lines["quoted key",] == 9
    assert (lines["table",], lines["table", "x"], lines["table", "sub"], lines["table", "sub", "y"]) == (11, 12, 13, 14)
    assert (lines["list", 0], lines["list", 0, "x"], lines["list", 0, "coating", "material"]) == (15, 16, 17)
    assert (lines["list", 1], lines["list", 1, "x"], lines["list", 1, "under", "z"]) == (18, 20, 22)


def test_quotes_before_the_closing_three_belong_to_the_text():
    text = 'a = """x"""""\nb = \'\'\'y\'\'\'\'\nc = ""\nd = 1\n'
    assert tomllib.loads(text) == {"a": 'x""', "b": "y'", "c": "", "d": 1}
    assert {key[0]: line for key, line in key_lines(text).items()} == {"a": 1, "b": 2, "c": 3, "d": 4}


def test_no_line_end_at_the_end():
    assert key_lines("a = 1\nb = [1]") == {("a",): 1, ("b",): 2, ("b", 0): 2}


keys = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=6)
scalars = st.one_of(st.integers(-(10**9), 10**9), st.booleans(), st.floats(allow_nan=False, allow_infinity=False),
                    st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=8))
values = st.recursive(scalars, lambda inner: st.one_of(st.lists(inner, max_size=3),
                                                       st.dictionaries(keys, inner, max_size=3)), max_leaves=8)


def inline(value):
    """Write a value as TOML on one line; JSON's texts and numbers are TOML's."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{inline(key)} = {inline(item)}" for key, item in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(inline(item) for item in value) + "]"
    return json.dumps(value, ensure_ascii=False)


def paths(value, path):
    """Yield the path of everything inside a value."""
    yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in items:
        yield from paths(item, (*path, key))


@given(st.dictionaries(keys, values, max_size=5), st.sampled_from(["", "\n", "# remark\n\n"]))
def test_every_path_of_a_document_has_its_line(document, between):
    text, expected, line = "", {}, 1
    for key, value in document.items():
        text += between
        line += between.count("\n")
        expected |= dict.fromkeys(paths(value, (key,)), line)
        text += f"{inline(key)} = {inline(value)}\n"
        line += 1
    assert tomllib.loads(text) == document
    assert key_lines(text) == expected
