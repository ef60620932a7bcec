"""`antexp gap` on the command line."""

import json

import pytest
from typer.testing import CliRunner

from antexp.cli.main import app
from antexp.errors import RepeatsError


def _run(*arguments):
    result = CliRunner().invoke(app, ["gap", *arguments])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        raise result.exception
    return result


def test_json_has_the_promised_keys_and_takes_a_negative_gap():
    document = json.loads(_run("-2.0", "--hangings", "3", "--rehang-sd", "0.5", "--reading-sd", "0.4", "--json").stdout)
    assert {"standard_error_db", "resolution_db", "p_value", "hangings_needed", "verdict"} <= set(document)
    assert document["gap_db"] == -2.0
    # √(2/3)·√(0.5² + 0.4²)
    assert document["standard_error_db"] == pytest.approx((2 / 3 * 0.41) ** 0.5)


def test_a_table_is_judged(tmp_path):
    (tmp_path / "t.csv").write_text("name,level_db\na,61\nb,63\n", encoding="utf-8")
    document = json.loads(_run("--table", str(tmp_path / "t.csv"), "--scale", "minus dBm", "--json").stdout)
    assert document["spread_db"] == 2.0
    assert document["pairs"][0]["candidate"] == "a"
    assert document["settled_by"]["matter_db"] == 2.0 and document["settled_by"]["blocks"] >= 1
    assert "The 2 wires spread over 2.00 dB" in _run("--table", str(tmp_path / "t.csv"), "--scale", "dB").stdout


def test_number_or_table_but_not_both(tmp_path):
    with pytest.raises(RepeatsError, match="gap needs a number or a table: got neither"):
        _run()
    with pytest.raises(RepeatsError, match="gap needs a number or a table: got both"):
        _run("1", "--table", str(tmp_path / "t.csv"))
    with pytest.raises(RepeatsError, match="--hangings and --swr belong to a bare number"):
        _run("--table", str(tmp_path / "t.csv"), "--swr", "1", "2")


def test_an_unknown_option_is_not_swallowed():
    assert _run("1", "--rehng-sd", "3").exit_code == 2
