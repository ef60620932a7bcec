"""The order on disk and back."""

import json

import pytest

from antexp.design.order import make_order
from antexp.design.order_file import companions, read_order, write_order
from antexp.errors import FileError, OrderError
from antexp.plan.reader import plan_from_dict

NAMES = ["bare, hard copper", 'the "good" wire', "steel"]


@pytest.fixture(scope="module")
def order():
    return make_order(plan_from_dict({"candidates": NAMES, "field": {"blocks": 4, "minutes_per_swap": 7.5}}))


def test_three_files_and_back_again(order, tmp_path):
    path = tmp_path / "day.csv"
    written = write_order(order, path)
    assert [p.name for p in written] == ["day.csv", "day.reading-end.csv", "day.json"]
    back = read_order(path)
    assert back.table.equals(order.table)
    assert back.seed == order.seed and back.gaps == order.gaps and back.reference == NAMES[0]
    assert json.dumps(back.recipe) == json.dumps(order.recipe)


def test_byte_for_byte(order, tmp_path):
    again = make_order(plan_from_dict({"candidates": NAMES, "field": {"blocks": 4, "minutes_per_swap": 7.5}}))
    for one, other in zip(write_order(order, tmp_path / "a.csv"), write_order(again, tmp_path / "b.csv"), strict=True):
        assert one.read_bytes() == other.read_bytes()


def test_the_reading_end_learns_no_names(order, tmp_path):
    _, reading_end, _ = write_order(order, tmp_path / "order.csv")
    text = reading_end.read_text("utf-8")
    assert text.splitlines()[0] == "swap,block,position,minutes,word"
    assert len(text.splitlines()) == 1 + order.swaps
    assert not [name for name in NAMES if name in text] and "reference" not in text and "candidate" not in text


def test_header_and_first_row_as_the_contract_says(order, tmp_path):
    path, _, _ = write_order(order, tmp_path / "order.csv")
    lines = path.read_text("utf-8").splitlines()
    assert lines[0] == "swap,block,position,minutes,word,candidate,specimen,place,role"
    assert lines[1].startswith("1,1,1,0,") and lines[1].endswith(',"bare, hard copper",1,1,reference')
    assert lines[2].startswith("2,1,2,7.5,")


def test_without_its_recipe_the_table_is_still_read(order, tmp_path):
    path, _, recipe = write_order(order, tmp_path / "order.csv")
    recipe.unlink()
    back = read_order(path)
    assert back.table.equals(order.table) and back.recipe == {} and back.seed is None


def test_an_order_file_that_would_overwrite_its_recipe_is_refused(order, tmp_path):
    with pytest.raises(OrderError, match=r"the order file is a table"):
        write_order(order, tmp_path / "order.json")
    assert not list(tmp_path.iterdir())


def test_a_missing_folder_writes_nothing(order, tmp_path):
    with pytest.raises(FileError):
        write_order(order, tmp_path / "nowhere" / "order.csv")


def test_all_faults_of_a_damaged_file_at_once(order, tmp_path):
    path, _, _ = write_order(order, tmp_path / "order.csv")
    lines = path.read_text("utf-8").splitlines()
    lines[1] = lines[1].replace("1,1,1,0,", "one,1,1,0,")
    lines[2] = lines[2].removesuffix("candidate") + "guest"
    lines[4] = lines[4].replace("4,1,4", "2,1,4", 1)
    path.write_text("\n".join(lines), "utf-8")
    with pytest.raises(OrderError) as caught:
        read_order(path)
    text = str(caught.value)
    assert "line 2, column swap: swap is not a number: got 'one'" in text
    assert "line 3, column role: unknown role: got 'guest'" in text
    assert "line 5, column swap: swap numbers do not rise: got 2" in text


def test_missing_columns_are_named(tmp_path):
    path = tmp_path / "order.csv"
    path.write_text("swap,block,candidate\n1,1,a\n", "utf-8")
    with pytest.raises(OrderError, match=r"Missing: position, minutes, word, specimen, place, role"):
        read_order(path)


def test_companions_follow_the_name():
    assert [p.name for p in companions("x/saturday.csv")] == ["saturday.reading-end.csv", "saturday.json"]


def test_one_reference_and_only_one(order, tmp_path):
    path, _, _ = write_order(order, tmp_path / "order.csv")
    text = path.read_text("utf-8")
    path.write_text(text.replace(",reference\n", ",candidate\n"), "utf-8")
    with pytest.raises(OrderError, match="the order needs one reference: got none"):
        read_order(path)
    path.write_text(text.replace(",reference\n", ",candidate\n", 1), "utf-8")
    with pytest.raises(OrderError, match="the reference also hangs as a candidate: got bare, hard copper"):
        read_order(path)
