"""Hundreds of kills of the recorder: `python tests/benchmarks/recorder_kills.py [TRIALS]`.

Prints, for kills at random moments and inside a write, how many readings were confirmed and how many of those are
missing afterwards (must be 0).
"""

import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def main(count: int) -> None:
    """Run the trials and print what was lost."""
    with tempfile.TemporaryDirectory() as folder:
        for kind in ("random", "inside"):
            work = Path(folder) / kind
            work.mkdir()
            done = subprocess.run([sys.executable, str(ROOT / "tests/field/ends/recorder_kill_trials.py"),
                                   str(work), str(count), kind], capture_output=True, text=True, check=True,
                                  env={"PYTHONPATH": str(ROOT), "PATH": "/usr/bin:/bin"})
            outcomes = [tuple(map(int, line.split())) for line in done.stdout.splitlines()]
            lost = sum(max(confirmed - found, 0) for confirmed, found, _ in outcomes)
            print(f"{kind}: {len(outcomes)} kills, {sum(o[0] for o in outcomes)} readings confirmed, {lost} lost, "
                  f"{sum(o[2] for o in outcomes)} half-written files left beside and removed")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300)
