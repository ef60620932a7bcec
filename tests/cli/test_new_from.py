"""`new --from` as a command: a plan that antexp checks without a fault, overwriting nothing."""

import json
import shutil

import pytest

from antexp.demo.run import run_demo


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    folder = run_demo(tmp_path_factory.mktemp("new") / "demo").folder
    bench = 'candidate,leg_m,resonance_mhz\n"aluminium, 1.6 mm",7.05,10.1\n'
    (folder / "bench.csv").write_text(bench, encoding="utf-8")
    return folder


def test_the_next_plan_is_checked_without_fault(antexp, demo, tmp_path):
    ran = antexp("new", tmp_path / "next.toml", "--from", demo)
    assert ran.status == 0 and "Carried over: 8 candidates" in ran.out
    assert (tmp_path / "next.bench.csv").read_bytes() == (demo / "bench.csv").read_bytes()
    assert antexp("check", tmp_path / "next.toml").status == 0
    assert antexp("trim", tmp_path / "next.toml", "--bench", tmp_path / "next.bench.csv").status == 0
    ran = antexp("new", tmp_path / "next.toml", "--from", demo)
    assert ran.status == 2 and "overwrites nothing" in ran.err


def test_json_names_the_files_and_what_was_carried_over(antexp, demo, tmp_path):
    document = json.loads(antexp("new", tmp_path / "next.toml", "--from", demo, "--json").out)
    assert document["files"] == [str(tmp_path / "next.toml"), str(tmp_path / "next.bench.csv")]
    assert any("rehang_sd_db" in line for line in document["carried"])


def test_a_day_without_a_bench_book_carries_none_over(antexp, demo, tmp_path):
    day = tmp_path / "day"
    shutil.copytree(demo, day, ignore=shutil.ignore_patterns("bench.csv"))
    document = json.loads(antexp("new", tmp_path / "next.toml", "--from", day, "--json").out)
    assert document["files"] == [str(tmp_path / "next.toml")]
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["next.toml"]
    assert antexp("check", tmp_path / "next.toml").status == 0


def test_nothing_is_written_without_results(antexp, tmp_path):
    ran = antexp("new", tmp_path / "next.toml", "--from", tmp_path)
    assert ran.status == 2 and "no such results file" in ran.err and not (tmp_path / "next.toml").exists()
