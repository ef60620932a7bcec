"""The `antexp` command: wires the subcommands together and turns faults into messages."""

from __future__ import annotations

import io
import sys
import traceback

import typer

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
from antexp.errors import InputError

app = typer.Typer(
    name="antexp",
    help="Compare antenna wires fairly in the field: plan the swaps, record the readings, and learn which gaps are "
    "real. New here? Try: antexp demo",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
app.command("demo")(demo.command)
app.command("new")(new.command)
app.command("check")(check.command)
app.command("expect")(expect.command)
app.command("trim")(trim.command)
app.command("repeats")(repeats.command)
app.command("order")(order.command)
app.command("sheet")(sheet.command)
app.command("record")(record.command)
app.command("join")(join.command)
app.command("pilot")(pilot.command)
app.command("judge")(judge.command)
app.command("choose")(choose.command)
app.command("say")(say.command)
app.command("compare")(compare.command)
app.command("pool")(pool.command)
app.command("keep")(keep.command)
app.command("open")(open_archive.command)
# a gap may be negative, which would else be taken for an option
app.command("gap", context_settings={"ignore_unknown_options": True})(gap.command)


def run() -> None:
    """Run the command; exit status 0 done, 2 the input is at fault, 1 a defect of antexp."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a name that the terminal cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    if len(sys.argv) == 1:
        sys.argv.append("--help")  # no words at all is a question, not a fault
    try:
        app()
    except InputError as error:
        _say_faults(error)
        sys.exit(2)
    except SystemExit as stop:
        if isinstance(stop.__context__, BrokenPipeError):
            sys.exit(0)  # the reader has seen enough: no fault of the input, no defect
        raise
    except KeyboardInterrupt:
        print("antexp: stopped; nothing half-written was left behind.", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception:
        traceback.print_exc()
        print("antexp: this is a defect of antexp, not of your input; please report the lines above.", file=sys.stderr)
        sys.exit(1)


def _say_faults(error: InputError) -> None:
    """Print every fault on standard error."""
    count = len(error.faults)
    if count > 1:
        print(f"antexp: {count} things are wrong with the input:", file=sys.stderr)
    for fault in error.faults:
        print(f"{'  - ' if count > 1 else 'antexp: '}{fault}", file=sys.stderr)
