"""Output into a pipe whose reader has seen enough ends quietly, as a finished command does."""

from __future__ import annotations

import subprocess
import sys

PROGRAM = "from antexp.cli.main import run; run()"


def test_a_reader_that_leaves_early_is_no_defect(tmp_path):
    rows = [f"{swap},{'ab'[swap % 2]},{-50 - 0.1 * (swap % 3)}" for swap in range(1, 13)]
    readings = tmp_path / "readings.csv"
    readings.write_text("swap,candidate,level_db\n" + "\n".join(rows) + "\n", encoding="utf-8")
    words = [sys.executable, "-c", PROGRAM, "judge", str(readings), "--matter", "1"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as command:
        assert command.stdout is not None and command.stderr is not None
        command.stdout.close()  # nobody reads: the first write meets a broken pipe
        said = command.stderr.read().decode()
        status = command.wait(60)
    assert status == 0, said
    assert "Traceback" not in said and "defect" not in said
