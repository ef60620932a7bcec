"""What commands say or do in seldom ways: values for the shell, a rig, a cluster, warnings in words."""

from __future__ import annotations

import csv
import io
import json
import runpy
import socketserver
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager

import numpy as np
import pytest
import typer
from scipy import stats
from typer.testing import CliRunner

from antexp.cli import options
from antexp.cli.help_text import WholeHelpCommand
from antexp.errors import PlanError
from antexp.field.book_columns import HANGING_COLUMNS, READING_COLUMNS
from antexp.plan.reader import plan_from_dict

ORDER = """swap,block,position,minutes,word,candidate,specimen,place,role
1,1,1,0,banner,willow wire,1,1,reference
2,1,2,7,garlic,birch wire,1,1,candidate
"""


@pytest.fixture
def order(written):
    return written("order.csv", ORDER)


@pytest.mark.parametrize(
    ("words", "table", "key"), [(options.comparisons, "question", "compare"), (options.drift_forms, "field", "drift")]
)
def test_every_value_that_the_shell_offers_is_taken_and_no_other(words, table, key):
    plan = {"candidates": ["a", "b"], "frequency_mhz": 14.2}
    offered = options.offered(words)("")
    taken = [getattr(getattr(plan_from_dict(plan | {table: {key: word}}), table), key) for word in offered]
    assert taken == offered and len(offered) > 2
    allowed = ", ".join(f'"{word}"' for word in offered)
    with pytest.raises(PlanError, match=f"key {table}.{key}: .*allowed: {allowed}"):
        plan_from_dict(plan | {table: {key: "sideways"}})


def test_the_shell_offers_what_begins_as_what_was_typed():
    every = options.offered(options.sort_keys)("")
    assert "price" in every and options.offered(options.sort_keys)("pri") == ["price"]
    assert options.offered(options.sort_keys)("x") == []


def test_a_bare_gap_in_words_has_the_limits_of_known_spreads(antexp):
    """Spreads that are given are known, so that the limits are those of the normal distribution (scipy)."""
    words = ("gap", "2", "--hangings", "3", "--rehang-sd", "0.5", "--reading-sd", "0.4")
    told, document = antexp(*words), json.loads(antexp(*words, "--json").out)
    error = np.sqrt(2 / 3 * (0.5**2 + 0.4**2))
    half = stats.norm.ppf(0.975) * error
    assert document["resolution_db"] == pytest.approx(half, rel=1e-6)
    said = " ".join(told.out.split())
    assert told.status == 0 and f"between +{2 - half:.2f} and +{2 + half:.2f} dB" in said
    assert f"Verdict: {document['verdict']}." in said


def test_readings_of_a_swap_that_was_not_up_are_told_of_in_words(antexp, order, tmp_path):
    reading, hanging = tmp_path / "reading.csv", tmp_path / "hanging.csv"

    def write(path, columns, rows):
        with open(path, "w", newline="", encoding="utf-8") as stream:
            sheet = csv.DictWriter(stream, columns)
            sheet.writeheader()
            sheet.writerows({"entry": number} | row for number, row in enumerate(rows, 1))

    at = "2026-05-01T09:{:02d}:00+02:00".format
    first = {"swap": 1, "block": 1, "word": "banner", "keep": 1}
    levels = [{"what": "reading", "time": at(minute), "level_db": -67, "reading": number}
              for number, minute in enumerate((33, 34, 45), 1)]
    willow = {"candidate": "willow wire", "specimen": 1, "place": 1}
    write(reading, READING_COLUMNS, [first | level for level in levels])
    write(hanging, HANGING_COLUMNS, [first | {"what": "up", "time": at(31)} | willow,
                                     first | {"what": "down", "time": at(36)}])
    ran = antexp("join", order, reading, hanging, "-o", tmp_path / "readings.csv")
    assert ran.status == 0 and "3 readings of 1 swap" in ran.out
    warned = json.loads(antexp("join", order, reading, hanging, "-o", tmp_path / "b.csv", "--json").out)["warnings"]
    assert [each["code"] for each in warned] == ["readings-outside-hanging"]
    assert warned[0]["text"] in ran.out.splitlines()


class Rig(socketserver.StreamRequestHandler):
    """A rigctld server with a restless meter (the extended form of Hamlib's protocol, as in tests/field)."""

    def handle(self):
        strengths = iter([-13, -12, -50, -11, -12] * 9)
        for line in self.rfile:
            asked = line.decode().strip()
            value = "Frequency: 7100000" if asked == "+f" else str(next(strengths))
            self.wfile.write(f"{asked[1:]}:\n{value}\nRPRT 0\n".encode())


@pytest.fixture
def rig():
    with socketserver.ThreadingTCPServer(("127.0.0.1", 0), Rig) as server:
        threading.Thread(target=server.serve_forever, args=(0.01,), daemon=True).start()
        yield f"127.0.0.1:{server.server_address[1]}"
        server.shutdown()


def test_a_rig_is_asked_where_nothing_is_typed(antexp, order, rig, monkeypatch, tmp_path):
    """S9 is −73 dBm at 7.1 MHz (IARU Region 1 R.1), and the middle one of five strengths 12 dB less."""
    monkeypatch.setattr("sys.stdin", io.StringIO("\n-84.5\nq\n"))
    ran = antexp("record", order, "-o", tmp_path / "r.csv", "--from", "rig", rig, "--json")
    assert json.loads(ran.out)["readings"] == 2, ran.err
    with open(tmp_path / "r.csv", encoding="utf-8") as stream:
        levels = [float(row["level_db"]) for row in csv.DictReader(stream) if row["what"] == "reading"]
    assert levels == [-85.0, -84.5]


def test_a_rehearsal_on_a_cluster_is_the_one_at_home(antexp, monkeypatch, tmp_path):
    """Whatever executor the address leads to: here threads of this process."""
    asked = []

    @contextmanager
    def threads(address):
        asked.append(address)
        with ThreadPoolExecutor(2) as executor:
            yield executor

    monkeypatch.setattr("antexp.repeats.cluster.cluster_executor", threads)
    plan = tmp_path / "plan.toml"
    plan.write_text('candidates = ["bare", "covered"]\nfrequency_mhz = 14.2\nhours = 2\nmatter_db = 1\n')
    words = ("repeats", plan, "--json", "--records", "200")
    home, away = (json.loads(antexp(*words, *more).out) for more in ((), ("--cluster", "tcp://192.0.2.7:8786")))
    assert asked == ["tcp://192.0.2.7:8786"]
    assert away["rehearsal"] == home["rehearsal"] and home["rehearsal"]


def test_a_command_without_arguments_has_no_empty_list_of_them():
    app = typer.Typer(rich_markup_mode=None)

    @app.command(cls=WholeHelpCommand)
    def still() -> None:
        """Do nothing."""

    said = CliRunner().invoke(app, ["--help"]).stdout
    assert "Do nothing." in said and "Options" in said and "Arguments" not in said


def test_the_reference_pages_are_written_by_one_command(monkeypatch, tmp_path):
    from antexp.cli.reference_pages import reference_pages

    monkeypatch.setattr("sys.argv", ["reference_pages", str(tmp_path)])
    monkeypatch.delitem(sys.modules, "antexp.cli.reference_pages")
    runpy.run_module("antexp.cli.reference_pages", run_name="__main__")
    written = {path.name: path.read_text(encoding="utf-8") for path in tmp_path.iterdir()}
    assert written == reference_pages() and "commands.md" in written
