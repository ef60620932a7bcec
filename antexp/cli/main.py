"""The `antexp` command: wires the subcommands together and turns faults into messages."""

from __future__ import annotations

import errno
import io
import os
import sys
import traceback
from collections.abc import Callable
from typing import Annotated, NoReturn

import typer

from antexp import __version__
from antexp.cli import (
    check,
    choose,
    compare,
    demo,
    expect,
    gap,
    join,
    judge,
    keep,
    new,
    open_archive,
    order,
    pilot,
    pool,
    record,
    repeats,
    say,
    sheet,
    trim,
)
from antexp.cli.help_text import WholeHelpCommand, WholeHelpGroup
from antexp.errors import InputError

_INTERRUPTED = 130
"""Exit status after Ctrl-C, as shells have it: 128 and the number of the signal."""

_NO_ROOM = (errno.ENOSPC, errno.EDQUOT, errno.EIO)

app = typer.Typer(
    name="antexp",
    help="Compare antenna wires fairly in the field: plan the swaps, record the readings, and learn which gaps are "
    "real. New here? Try: antexp demo",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    cls=WholeHelpGroup,
    context_settings={"help_option_names": ["-h", "--help"]},
)


@app.callback()
def _whole_command(
    version: Annotated[bool, typer.Option("--version", help="Show the version and exit.", is_eager=True,
                                          callback=lambda asked: _show_version(asked))] = False,
) -> None:
    """Take the options that stand before a subcommand."""


def _show_version(asked: bool) -> None:
    """Print the version, where it was asked for."""
    if asked:
        typer.echo(f"antexp {__version__}")
        raise typer.Exit


_COMMANDS: dict[str, Callable[..., None]] = {
    "demo": demo.command, "new": new.command, "check": check.command, "expect": expect.command, "trim": trim.command,
    "repeats": repeats.command, "order": order.command, "sheet": sheet.command, "record": record.command,
    "join": join.command, "pilot": pilot.command, "judge": judge.command, "choose": choose.command,
    "say": say.command, "compare": compare.command, "pool": pool.command, "keep": keep.command,
    "open": open_archive.command,
}
for _name, _command in _COMMANDS.items():
    app.command(_name, cls=WholeHelpCommand)(_command)
# a gap may be negative, which would else be taken for an option
app.command("gap", cls=WholeHelpCommand, context_settings={"ignore_unknown_options": True})(gap.command)


def run() -> None:
    """Run the command; exit status 0 done, 2 the input is at fault, 1 a defect of antexp, 130 stopped by Ctrl-C."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a name that the terminal cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    if len(sys.argv) == 1:
        sys.argv.append("--help")  # no words at all is a question, not a fault
    try:
        _run_and_flush()
    except InputError as error:
        _say_faults(error)
        sys.exit(2)
    except SystemExit as stop:
        if isinstance(stop.__context__, BrokenPipeError):
            sys.exit(0)  # the reader has seen enough: no fault of the input, no defect
        if stop.code == _INTERRUPTED:  # typer turns Ctrl-C into this status without a word
            _say_stopped()
        raise
    except KeyboardInterrupt:
        _say_stopped()
        sys.exit(_INTERRUPTED)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except OSError as error:
        if error.errno not in _NO_ROOM:
            _report_defect()
        _leave_unwritten(error)
    except Exception:
        _report_defect()


def _run_and_flush() -> None:
    """Run the command; what it said is out when this returns, or an error says that it cannot be."""
    try:
        app(prog_name="antexp")
    finally:
        sys.stdout.flush()


def _leave_unwritten(error: OSError) -> NoReturn:
    """Say that the output cannot be written, as to a full disk: no defect, and nothing of the input's."""
    print(f"antexp: what antexp says cannot be written: {error.strerror}.", file=sys.stderr)
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # what is left over would fail again at the end
    sys.exit(2)


def _report_defect() -> NoReturn:
    """Show where antexp failed."""
    traceback.print_exc()
    print("antexp: this is a defect of antexp, not of your input; please report the lines above.", file=sys.stderr)
    sys.exit(1)


def _say_stopped() -> None:
    print("antexp: stopped; nothing half-written was left behind.", file=sys.stderr)


def _say_faults(error: InputError) -> None:
    """Print every fault on standard error."""
    count = len(error.faults)
    if count > 1:
        print(f"antexp: {count} things are wrong with the input:", file=sys.stderr)
    for fault in error.faults:
        print(f"{'  - ' if count > 1 else 'antexp: '}{fault}", file=sys.stderr)
