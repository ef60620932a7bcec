"""What an order is never written over: the plan, readings, a filled form, what cannot be told."""

import pytest

from antexp.design.order import make_order
from antexp.design.order_file import companions, write_order
from antexp.design.pilot_order import pilot_order, write_pilot
from antexp.errors import OrderError
from antexp.plan.reader import plan_from_dict
from antexp.report.order_files import write_order_and_picture


@pytest.fixture(scope="module")
def plan():
    return plan_from_dict({"candidates": ["R", "A"], "field": {"blocks": 3}})


@pytest.fixture(scope="module")
def order(plan):
    return make_order(plan)


@pytest.mark.parametrize("kept", [
    'candidates = ["R", "A"]\n',
    "swap,candidate,level_db\n1,R,-60.2\n",
    "swap,block,position,minutes,word,candidate,specimen,place,role,level_db\n1,1,1,0,otter,R,1,1,reference,-60\n",
    "\n\ufeffa note\n",
])
def test_what_is_no_order_file_stays(tmp_path, order, kept):
    path = tmp_path / "day.csv"
    path.write_text(kept, "utf-8")
    with pytest.raises(OrderError, match="something that is no order file stands where the order would be written"):
        write_order(order, path)
    assert path.read_text("utf-8") == kept and [file.name for file in tmp_path.iterdir()] == ["day.csv"]


@pytest.mark.parametrize("old", ["", "\ufeffswap, block,position,minutes,word,candidate,specimen,place,role\r\n"])
def test_an_older_order_and_an_empty_file_are_replaced(tmp_path, order, old):
    path = tmp_path / "order.csv"
    path.write_text(old, "utf-8", newline="")
    write_order(order, path)
    assert len(path.read_text("utf-8").splitlines()) == len(order.table) + 1 and companions(path)[1].is_file()


def test_a_pilot_form_with_readings_stays(tmp_path, plan):
    pilot = pilot_order(plan)
    form = write_pilot(pilot, tmp_path / "pilot.csv")[-1]
    write_pilot(pilot, tmp_path / "pilot.csv")  # as yet it is empty
    header, first, *rest = form.read_text("utf-8").splitlines()
    cells = first.split(",")
    cells[header.split(",").index("level_db")] = "-61.5"
    filled = "\n".join([header, ",".join(cells), *rest])
    form.write_text(filled, "utf-8")
    with pytest.raises(OrderError, match=r"the form holds readings already.*got 1 filled row\."):
        write_pilot(pilot, tmp_path / "pilot.csv")
    assert form.read_text("utf-8") == filled
    form.write_text("level_db\n" + "x" * 200_000, "utf-8")  # longer than a cell may be
    with pytest.raises(OrderError, match="the form holds readings already"):
        write_pilot(pilot, tmp_path / "pilot.csv")


def test_a_path_without_a_files_name_is_said(tmp_path, order, plan):
    for path in (".", tmp_path):
        with pytest.raises(OrderError, match="a file's name is missing"):
            write_order(order, path)
        with pytest.raises(OrderError, match="a file's name is missing"):
            write_pilot(pilot_order(plan), path)
        with pytest.raises(OrderError, match="a file's name is missing"):
            write_order_and_picture(order, path)
    assert not list(tmp_path.iterdir())
