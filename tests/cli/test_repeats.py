"""`antexp repeats` on the command line."""

import json

import pytest
from typer.testing import CliRunner

from antexp.cli.main import app
from antexp.errors import RepeatsError


def _run(*arguments):
    result = CliRunner().invoke(app, ["repeats", *map(str, arguments)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_json_has_the_promised_keys(plan):
    document = json.loads(_run(plan, "--json", "--records", "500", "--trade-offs").stdout)
    assert {"blocks", "swaps", "hours", "resolution_db", "detectable_db", "chance", "table"} <= set(document)
    promised = {"blocks", "swaps", "hours", "resolution_db", "detectable_db", "chance", "chance_all",
                "chance_settled_if_equal", "chance_rehearsed", "chance_rehearsed_se", "detectable_cautious_db",
                "chance_cautious"}
    assert promised <= set(document["table"][5])
    assert document["trade_offs"][0]["choice"] == "readings against swaps"


def test_the_answer_in_words_and_the_pictures(plan, tmp_path):
    text = _run(plan, "--records", "500", "-o", str(tmp_path / "out")).stdout
    assert text.startswith("8 blocks, 40 swaps, 4 h 40 min: over 99 % chance of noticing 1.0 dB.")
    assert "fewer candidates" in text and "two days" in text
    assert (tmp_path / "out" / "repeats.svg").read_text(encoding="utf-8").startswith("<svg")
    assert (tmp_path / "out" / "guesses.svg").exists()


def test_processes_give_the_same_answer(plan):
    alone, together = (json.loads(_run(plan, "--json", "--records", "300", "--workers", n).stdout)
                       for n in ("1", "2"))
    assert alone["rehearsal"] == together["rehearsal"]


def test_workers_and_cluster_exclude_each_other(plan):
    with pytest.raises(RepeatsError, match="where the rehearsal is to run is not clear: got --workers 2 --cluster x"):
        _run(plan, "--workers", "2", "--cluster", "x")
    with pytest.raises(RepeatsError, match="got --workers 0"):
        _run(plan, "--workers", "0")
