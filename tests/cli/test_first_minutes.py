"""What a newcomer does in the first ten minutes: no words, typos, help at any width, Ctrl-C, pipes, odd CSV files."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from types import SimpleNamespace

import pytest
import typer
from typer.main import get_command

from antexp.cli.main import app
from antexp.cli.option_values import in_our_words

PROGRAM = "from antexp.cli.main import run; run()"
COMMANDS = sorted(get_command(app).commands)
ROWS = [f"{swap},{'copper' if swap % 2 else 'steel'},{-50 - 1.5 * (swap % 2 == 0) - 0.1 * (swap % 3):.1f}"
        for swap in range(1, 13)]
THREE_COLUMNS = "\n".join(["swap,candidate,level_db", *ROWS]) + "\n"


def start(*words, **more):
    return subprocess.Popen([sys.executable, "-c", PROGRAM, *map(str, words)], stdout=subprocess.PIPE,
                            stderr=subprocess.PIPE, text=True, **more)


def hear_ctrl_c():
    """What runs in the background inherits deaf ears for Ctrl-C; at a terminal nobody does."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_no_words_at_all_show_the_help(antexp):
    ran = antexp()
    assert ran.status == 0 and "Usage: antexp" in ran.out and "antexp demo" in ran.out


@pytest.mark.parametrize("width", [40, 60, 80])
def test_the_list_of_commands_is_whole_at_any_width(antexp, monkeypatch, width):
    monkeypatch.setenv("COLUMNS", str(width))
    ran = antexp("--help")
    assert max(map(len, ran.out.splitlines())) <= width and "..." not in ran.out.replace("[ARGS]...", "")
    said = " ".join(ran.out.split())
    for name, command in get_command(app).commands.items():
        assert f"{name} {' '.join(command.help.split())}" in said


@pytest.mark.parametrize("command", COMMANDS)
def test_each_help_stands_within_a_narrow_terminal(antexp, monkeypatch, command):
    monkeypatch.setenv("COLUMNS", "40")
    ran = antexp(command, "--help")
    assert ran.status == 0 and max(map(len, ran.out.splitlines())) <= 40
    assert "{" not in ran.out and "<" not in ran.out  # arguments as a user types them, no type names


@pytest.mark.parametrize(("typed", "meant"), [("jugde", "judge"), ("recrod", "record"), ("chose", "choose")])
def test_a_typo_in_a_command_is_met_with_the_likely_word(antexp, typed, meant):
    ran = antexp(typed)
    assert ran.status == 2 and f"Did you mean '{meant}'" in ran.err


def test_a_typo_in_an_option_is_met_with_the_likely_one(antexp):
    ran = antexp("judge", "readings.csv", "--plam", "plan.toml")
    assert ran.status == 2 and "--plan" in ran.err


def test_the_version_is_told(antexp):
    from antexp import __version__

    ran = antexp("--version")
    assert (ran.status, ran.out) == (0, f"antexp {__version__}\n")


@pytest.mark.parametrize("text", [
    THREE_COLUMNS, THREE_COLUMNS.replace("\n", "\r\n"), "\ufeff" + THREE_COLUMNS.replace("\n", "\r\n"),
    THREE_COLUMNS.rstrip("\n"), THREE_COLUMNS.replace("\n", ",,\n") + ",,,,\n",
], ids=["plain", "Windows line ends", "byte-order mark", "no last line end", "empty columns and rows"])
def test_three_columns_are_judged_however_a_spreadsheet_saved_them(antexp, tmp_path, text):
    path = tmp_path / "readings.csv"
    path.write_bytes(text.encode("utf-8"))
    ran = antexp("judge", path, "--matter", "1")
    assert ran.status == 0 and "steel" in ran.out and not ran.err
    path.write_text(THREE_COLUMNS, encoding="utf-8")
    assert antexp("judge", path, "--matter", "1").out == ran.out


def test_a_semicolon_is_named_with_what_to_do(antexp, tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(THREE_COLUMNS.replace(".", ";").replace(",", ";"), encoding="utf-8")
    ran = antexp("judge", path)
    assert ran.status == 2 and "separated by a semicolon" in ran.err and "comma-separated" in ran.err


@pytest.mark.skipif(os.name == "nt", reason="signals of POSIX")
@pytest.mark.parametrize("after_s", [2.5, 4.0])
def test_ctrl_c_in_a_long_command_ends_without_traceback_or_files(tmp_path, after_s):
    plan = tmp_path / "plan.toml"
    plan.write_text('candidates = ["a", "b", "c", "d"]\nfrequency_mhz = 14.2\nhours = 40\nmatter_db = 0.4\n'
                    'meter = "SDR"\n', encoding="utf-8")
    with start("repeats", plan, "--records", 2_000_000, "-o", tmp_path / "out", preexec_fn=hear_ctrl_c) as command:
        time.sleep(after_s)
        command.send_signal(signal.SIGINT)
        try:
            _, said = command.communicate(timeout=60)
        finally:
            command.kill()
    assert command.returncode == 130
    assert "stopped; nothing half-written" in said and "Traceback" not in said
    assert sorted(path.name for path in tmp_path.iterdir()) == ["plan.toml"]


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="needs a device that is always full")
def test_output_to_a_full_disk_is_said_in_one_line(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(THREE_COLUMNS, encoding="utf-8")
    for words in (("judge", str(path), "--matter", "1"), ("gap", "1.2"), ("--version",)):
        with open("/dev/full", "w", encoding="utf-8") as full:
            ran = subprocess.run([sys.executable, "-c", PROGRAM, *words], stdout=full, stderr=subprocess.PIPE,
                                 text=True, check=False)
        assert ran.returncode == 2 and ran.stderr.count("\n") == 1 and "cannot be written" in ran.stderr, ran.stderr


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_offers_commands_and_options(shell):
    """The protocol of completion is that of the library; asked here is that antexp's words come through it."""
    asked = {"bash": {"COMP_WORDS": "antexp ju", "COMP_CWORD": "1"}, "zsh": {"_TYPER_COMPLETE_ARGS": "antexp ju"},
             "fish": {"_TYPER_COMPLETE_ARGS": "antexp ju", "_TYPER_COMPLETE_FISH_ACTION": "get-args"}}[shell]
    program = "import sys; sys.argv = ['antexp']; " + PROGRAM
    ran = subprocess.run([sys.executable, "-c", program], env={**os.environ, "_ANTEXP_COMPLETE": f"complete_{shell}",
                                                               **asked}, capture_output=True, text=True, check=False)
    assert "judge" in ran.stdout and "keep" not in ran.stdout, ran.stderr


@pytest.mark.parametrize(("words", "offered"), [
    ("judge readings.csv --compare e", ["each-other"]),
    ("judge readings.csv --drift ", ["none", "steady", "curved", "wandering"]),
    ("choose readings.csv --sort pr", ["price"]),
])
def test_completion_offers_the_values_of_an_option(words, offered):
    place = str(words.count(" ") + 1)
    program = "import sys; sys.argv = ['antexp']; " + PROGRAM
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False,
                         env={**os.environ, "_ANTEXP_COMPLETE": "complete_bash", "COMP_WORDS": f"antexp {words}",
                              "COMP_CWORD": place})
    assert ran.stdout.split() == offered, ran.stderr


@pytest.mark.parametrize(("words", "said"), [
    (("judge", "x.csv", "--matter", "abc"),
     "--matter: not a number: got 'abc'; allowed: a number with a point, such as 0.5."),
    (("judge", "x.csv", "--matter=0,5"), "Write 0.5."),
    (("gap", "2", "--hangings", "1.5"), "--hangings: not a number: got '1.5'; allowed: a whole number, such as 3."),
    (("gap", "2", "--swr", "1.5", "b"), "--swr: not a number: got '1.5 b'"),
    (("gap", "two"), "DB: not a number: got 'two'; allowed: a number with a point, such as 0.5."),
    (("gap", "2,5", "--json"), "DB: not a number: got '2,5'; allowed: a number with a point, such as 0.5. Write 2.5."),
])
def test_a_number_that_is_none_is_a_fault_like_any_other(antexp, words, said):
    ran = antexp(*words)
    assert ran.status == 2 and ran.err.startswith("antexp: ") and said in ran.err
    assert ran.err.count("\n") == 1 and not ran.out


def test_nothing_is_coloured_where_colour_is_not_wanted(tmp_path):
    path = tmp_path / "readings.csv"
    path.write_text(THREE_COLUMNS, encoding="utf-8")
    for wish in ({"NO_COLOR": "1"}, {"TERM": "dumb"}, {}):
        with start("judge", path, "--matter", "1", env={**os.environ, **wish}) as command:
            said, _ = command.communicate(timeout=60)
        assert "\x1b" not in said and "steel" in said


def test_stopped_while_it_is_being_read_it_says_so_without_a_traceback():
    """Ctrl-C in the first tenth of a second, without waiting for that tenth."""
    program = ("import sys\n"
               "class Stop:\n"
               "    def find_spec(self, name, path=None, target=None):\n"
               "        if name == 'antexp.cli.main': raise KeyboardInterrupt\n"
               "sys.meta_path.insert(0, Stop())\n"
               "from antexp.__main__ import run; run()")
    ran = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert (ran.returncode, ran.stdout, ran.stderr) == (130, "", "antexp: stopped before it began.\n")


def test_the_package_runs_as_a_module():
    ran = subprocess.run([sys.executable, "-m", "antexp", "--version"], capture_output=True, text=True, check=False)
    assert ran.returncode == 0 and ran.stdout.startswith("antexp ")


def test_what_is_no_matter_of_numbers_is_left_to_the_library_and_an_unseen_value_unsaid():
    param = SimpleNamespace(opts=["--matter"], metavar="DB", name="matter", nargs=1)
    other = typer.BadParameter("is no file", param=param)
    assert in_our_words(other, ["--matter", "x"]) is other
    said = str(in_our_words(typer.BadParameter("should be a valid number", param=param), []))
    assert "--matter: not a number: allowed: a number" in said and "got" not in said
