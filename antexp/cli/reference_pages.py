"""Every reference page of the documentation that is made from the code, by one command.

Run ``python -m antexp.cli.reference_pages docs/reference`` after a change; a test compares the pages with the code.
"""

from __future__ import annotations

import sys
from pathlib import Path

from typer.main import get_command

from antexp.cli.main import app
from antexp.files import write_all_whole
from antexp.report.constants_page import constants_page
from antexp.report.reference_commands import commands_page
from antexp.report.reference_files import files_page
from antexp.report.reference_plan import plan_page
from antexp.report.reference_python import python_page
from antexp.report.reference_results import results_page
from antexp.report.reference_warnings import warnings_page


def reference_pages() -> dict[str, str]:
    """Return every page by its file name."""
    return {
        "plan.md": plan_page(),
        "files.md": files_page(),
        "commands.md": commands_page(get_command(app)),
        "results.md": results_page(),
        "warnings.md": warnings_page(),
        "python.md": python_page(),
        "constants.md": constants_page(),
    }


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    write_all_whole({folder / name: page for name, page in reference_pages().items()})
