"""The command, also as ``python -m antexp``; it may be stopped while its parts are still being read."""

from __future__ import annotations

import sys


def run() -> None:
    """Run the command; see `antexp.cli.main.run`."""
    try:
        from antexp.cli import main
    except KeyboardInterrupt:
        sys.stderr.write("antexp: stopped before it began.\n")
        sys.exit(130)
    main.run()


if __name__ == "__main__":
    run()
