"""`antexp order` on the command line."""

import json


def test_files_and_text(antexp, plan, tmp_path):
    ran = antexp("order", plan, "-o", tmp_path / "order.csv")
    assert ran.status == 0 and ran.err == ""
    assert "8 blocks, 40 swaps, 4 h 40 min of swapping" in ran.out
    assert {path.name for path in tmp_path.iterdir()} == {"plan.toml", "order.csv", "order.reading-end.csv",
                                                          "order.json", "order.png"}
    assert (tmp_path / "order.png").read_bytes().startswith(b"\x89PNG")


def test_twice_the_same_bytes(antexp, plan, tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        assert antexp("order", plan, "-o", tmp_path / name / "order.csv").status == 0
    for file in (tmp_path / "one").iterdir():
        assert file.read_bytes() == (tmp_path / "two" / file.name).read_bytes()


def test_json_is_one_document_with_the_promised_keys(antexp, plan):
    document = json.loads(antexp("order", plan, "--json").out)
    assert {"swaps", "blocks", "hours", "precision_kept", "gaps", "seed"} <= set(document)
    assert document["blocks_are"] == "complete" and document["timetable"][0]["swaps"] == 5
    assert {"candidate", "against", "standard_error_db", "resolution_db", "tied_to_time"} <= set(document["gaps"][0])
    # each of three candidates follows something once a block, and the reference closes every block
    follows = document["follows"]
    assert sum(follows["aluminium 2 mm"].values()) == 8 and sum(follows["bare copper 1.5 mm"].values()) == 8


def test_clock_times_of_sittings(antexp, plan):
    plan.write_text(plan.read_text("utf-8")
                    .replace("hours         = 5", "[field]\nsittings = ['09:30-10:50', '13:15-14:00']")
                    .replace('matter_db     = 1\nmeter         = "spectrum analyser"\n', ""), "utf-8")
    ran = antexp("order", plan)
    assert ran.status == 0 and "09:30" in ran.out and "10:05" in ran.out and "13:15" in ran.out


def test_the_rest_of_a_day(antexp, plan, tmp_path):
    antexp("order", plan, "-o", tmp_path / "order.csv")
    rows = (tmp_path / "order.csv").read_text("utf-8").splitlines()[1:13]
    lines = ["swap,block,candidate,minutes,level_db"]
    for row in rows:
        swap, block, _, minutes, _, candidate, *_ = row.split(",")
        lines.append(f"{swap},{block},{candidate},{minutes},-60.{swap}")
    (tmp_path / "readings.csv").write_text("\n".join(lines) + "\n", "utf-8")
    document = json.loads(antexp("order", plan, "--done", tmp_path / "readings.csv", "--json").out)
    assert document["hung"] == 12 and document["blocks"] == 8
    ran = antexp("order", plan, "--done", tmp_path / "readings.csv", "--without", "aluminium 2 mm")
    assert "The first 12 swaps hung before" in ran.out


def test_a_plan_that_does_not_fit_writes_nothing(antexp, plan, tmp_path):
    plan.write_text(plan.read_text("utf-8").replace("5\n", "0.4\n"), "utf-8")
    ran = antexp("order", plan, "-o", tmp_path / "order.csv")
    assert ran.status == 2 and ran.out == ""
    assert ran.err.startswith("antexp: plan, keys field.hours and field.blocks: the blocks do not fit into the time")
    assert not (tmp_path / "order.csv").exists()


def test_a_name_that_is_not_in_the_plan(antexp, plan):
    ran = antexp("order", plan, "--without", "gold")
    assert ran.status == 2 and "a candidate to be left out is not in the plan: got gold" in ran.err
