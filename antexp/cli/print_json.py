"""The one way in which commands print data."""

from __future__ import annotations

from typing import Any

import typer


def print_json(document: dict[str, Any]) -> None:
    """Print a document as JSON on standard output."""
    from antexp.json_text import as_json

    typer.echo(as_json(document), nl=False)
