"""Help in the terminal: no line cut short, whatever the width."""

from __future__ import annotations

import shutil
from typing import Any

import typer
from typer.core import TyperCommand, TyperGroup

from antexp.cli.option_values import in_our_words

_WIDEST, _NARROWEST = 80, 20


class WholeHelpCommand(TyperCommand):
    """A subcommand whose arguments stand in its help as a user types them; a number must be one."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the words of the command; a number that is none is a fault like any other."""
        words = list(args)
        try:
            return list(super().parse_args(ctx, args))
        except typer.BadParameter as error:
            raise in_our_words(error, words) from None

    def get_help(self, ctx: Any) -> str:
        """Return the help at the terminal's width."""
        return _help_of(self, ctx)

    def collect_usage_pieces(self, ctx: Any) -> list[str]:
        """Return the words of the usage line; what may be left out in brackets."""
        must = [f"{each.opts[0]} {each.metavar}" for each in self.params if _is_option(each) and each.required]
        return [*map(_bracketed, filter(_is_argument, self.params)), *must, "[OPTIONS]"]

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write arguments and options."""
        arguments = [(str(each.metavar), _argument_help(each)) for each in self.params if _is_argument(each)]
        options = [each.get_help_record(ctx) for each in self.get_params(ctx) if _is_option(each)]
        _write_list("Arguments", arguments, formatter)
        _write_list("Options", [record for record in options if record], formatter)


class WholeHelpGroup(TyperGroup):
    """The command itself; what each subcommand does stands in its help whole."""

    def get_help(self, ctx: Any) -> str:
        """Return the help at the terminal's width."""
        return _help_of(self, ctx)

    def format_options(self, ctx: Any, formatter: Any) -> None:
        """Write options and subcommands."""
        options = [each.get_help_record(ctx) for each in self.get_params(ctx)]
        commands = [(name, self.commands[name]) for name in self.list_commands(ctx)]
        _write_list("Commands", [(name, " ".join((each.help or "").split())) for name, each in commands], formatter)
        _write_list("Options", [record for record in options if record], formatter)


def _help_of(command: Any, ctx: Any) -> str:
    """Format a command's help; the formatter's own least width of 50 would overflow a narrow terminal."""
    width = max(min(shutil.get_terminal_size().columns, _WIDEST) - 2, _NARROWEST)
    formatter = ctx.formatter_class(width=width)
    command.format_help(ctx, formatter)
    return str(formatter.getvalue()).rstrip("\n")


def _write_list(head: str, rows: list[tuple[str, str]], formatter: Any) -> None:
    """Write words and meanings side by side, the words in a third of the width at most."""
    if rows:
        with formatter.section(head):
            formatter.write_dl(rows, col_max=min(24, formatter.width // 3))


def _is_option(each: Any) -> bool:
    return bool(each.param_type_name == "option")


def _is_argument(each: Any) -> bool:
    return bool(each.param_type_name == "argument")


def _bracketed(each: Any) -> str:
    """Return an argument as it is typed."""
    return str(each.metavar) if each.required else f"[{each.metavar}]"


def _argument_help(each: Any) -> str:
    """Return what an argument is, and that it must be given."""
    return f"{each.help or ''}  [required]" if each.required else str(each.help or "")
