"""`antexp record`: readings from the keyboard, a rig or a log, each on the disk before the next is asked for."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Optional, TextIO

import typer

from antexp.cli.options import Json, PlanOption
from antexp.cli.print_json import print_json

if TYPE_CHECKING:
    from antexp.field.facts import FieldFacts
    from antexp.field.swap_list import SwapList


def command(
    order: Annotated[Path, typer.Argument(metavar="ORDER", help="Order file, or order.reading-end.csv without names.",
                                          show_default=False)],
    output: Annotated[Path, typer.Option("--output", "-o", metavar="READINGS", help="Readings file; one that is there "
                                         "already is gone on with.", show_default=False)],
    plan: PlanOption = None,
    source: Annotated[
        Optional[tuple[str, str]],
        typer.Option("--from", metavar="rig HOST:PORT | log FILE", show_default=False,
                     help="Levels from a rigctld server, or cut from a continuous log (time, level_db)."),
    ] = None,
    times: Annotated[
        Optional[Path],
        typer.Option(metavar="FILE", help="For a log: the hanging end's file, which says when each swap was up.",
                     show_default=False),
    ] = None,
    settle: Annotated[float, typer.Option(metavar="SECONDS", help="For a log: left out after a swap went up.")] = 15.0,
    guard: Annotated[float, typer.Option(metavar="SECONDS", help="For a log: left out before it comes down.")] = 5.0,
    log_ahead: Annotated[
        Optional[float],
        typer.Option(metavar="SECONDS", help="For a log: how far its clock is ahead of the hanging end's; left out: as "
                     "the clocks were compared.", show_default=False),
    ] = None,
    receiver: Annotated[str, typer.Option(metavar="NAME", help="Which receiver, when several take part.",
                                          show_default=False)] = "",
    names: Annotated[bool, typer.Option("--names", help="Show what hangs: for one person alone.")] = False,
    json: Json = False,
) -> None:
    """Record the readings of an order, swap by swap; interrupt it at any time, the same command goes on."""
    from antexp.errors import Fault, InputError
    from antexp.field.facts import facts_of, find_plan
    from antexp.field.swap_list import read_swap_list

    kind, where = source if source is not None else ("", "")
    if kind not in ("", "rig", "log"):
        raise InputError(Fault("this is no source of levels", "--from", kind, "rig HOST:PORT, log FILE"))
    swaps = read_swap_list(order)
    facts = facts_of(find_plan(swaps, plan))
    stream = sys.stderr if json else sys.stdout
    for sentence in facts.assumed:
        print(sentence, file=stream)
    if kind == "log":
        document = _from_log(where, times, swaps, facts, output, settle, guard, log_ahead)
        lines = [*(warning["text"] for warning in document["warnings"]),
                 f"Wrote {output}: {document['readings']} readings of {document['swaps']} swaps."]
        print(*lines, sep="\n", file=stream)
    else:
        document = _at_the_terminal(where, swaps, facts, output, receiver, names, stream)
    if json:
        print_json(document)


def _from_log(
    log: str, times: Path | None, swaps: SwapList, facts: FieldFacts, output: Path, settle_s: float, guard_s: float,
    log_ahead_s: float | None,
) -> dict[str, Any]:
    """Cut a log and write the readings; a file that is there already is not touched."""
    from antexp.errors import Fault, InputError
    from antexp.field.book_file import to_csv
    from antexp.field.log_record import record_from_log
    from antexp.files import write_whole

    if times is None:
        raise InputError(Fault("a log needs to know when each swap was up", "--times",
                               do="Give the hanging end's file: --times order.hanging-end.record.csv"))
    if output.exists():
        raise InputError(Fault("the readings file is there already", str(output),
                               do="Choose another name with -o, or move it away: cut readings are never mixed in."))
    found = record_from_log(log, times, swaps, readings=facts.readings, settle_s=settle_s, guard_s=guard_s,
                            log_ahead_s=log_ahead_s)
    write_whole(output, to_csv(found.columns, found.rows))
    kept = [row for row in found.rows if row["keep"] == "1"]
    return {"file": str(output), "readings": len(kept), "swaps": len({row["swap"] for row in kept}),
            "warnings": [notice.to_dict() for notice in found.notices]}


def _at_the_terminal(
    address: str, swaps: SwapList, facts: FieldFacts, output: Path, receiver: str, names: bool, stream: TextIO
) -> dict[str, Any]:
    """Lead through the order at the terminal."""
    from antexp.field.recorder import Settings, record
    from antexp.field.rig import RigSource

    rig = RigSource(address, facts.scale) if address else None
    try:
        settings = Settings(output, swaps, facts, receiver, names or not facts.blind, rig)
        book = record(settings, _Terminal(stream))
    finally:
        if rig is not None:
            rig.close()
    rows = [row for row in book.rows if row["what"] == "reading" and row["keep"] == "1"]
    left = [swap for swap in swaps.swaps if not book.is_read(swap.swap, facts.readings)]
    return {"file": str(output), "readings": len(rows), "swaps": len({row["swap"] for row in rows}),
            "swaps_left": len(left)}


class _Terminal:
    """The terminal; with ``--json`` it talks on standard error, so that standard output holds the document alone."""

    def __init__(self, stream: TextIO) -> None:
        self._stream = stream

    def say(self, text: str) -> None:
        print(text, file=self._stream, flush=True)

    def ask(self, prompt: str) -> str:
        print(prompt, end="", file=self._stream, flush=True)
        line = sys.stdin.readline()
        if not line:
            print(file=self._stream)
            raise EOFError
        return line
