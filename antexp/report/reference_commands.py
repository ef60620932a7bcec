"""The reference page of commands and options, made from the commands themselves."""

from __future__ import annotations

from typing import Any

from antexp.report.markdown import code, plain, table

_HEAD = """# Commands and options

Made from the commands themselves; `antexp COMMAND --help` says the same. Exit status: 0 done, 2 the input is at fault
(one clear message on standard error, nothing written), 1 a defect of antexp. With `--json` a command prints one JSON
document on standard output and nothing else there: see [results](results.md). Completion of commands and options for
your shell: `antexp --install-completion`.
"""


def commands_page(command: Any) -> str:
    """Return the page as Markdown.

    Parameters
    ----------
    command : click group
        The `antexp` command, its subcommands in `commands`.
    """
    parts = [_HEAD]
    for name, each in command.commands.items():
        parts.append(f"## antexp {name}\n\n{plain(' '.join((each.help or '').split()))}\n\n"
                     f"{code(' '.join(('antexp', name, *_usage(each.params))))}\n\n{_options(each.params)}")
    return "\n".join(parts)


def _usage(params: list[Any]) -> list[str]:
    """Return arguments and required options as a user would type them."""
    words = []
    for each in params:
        if not _is_option(each):
            bare = _metavar(each).strip("[]")
            words.append(bare if each.required else f"[{bare}]")
        elif each.required:
            words.append(f"{each.opts[0]} {_metavar(each)}")
    return [*words, "[OPTIONS]"] if any(_is_option(each) and not each.required for each in params) else words


def _options(params: list[Any]) -> str:
    """Return a table of arguments and options."""
    rows = []
    for each in params:
        words = ", ".join(code(word) for word in each.opts) if _is_option(each) else ""
        value = "" if getattr(each, "is_flag", False) else code(_metavar(each))
        rows.append((" ".join(part for part in (words, value) if part), _default(each), plain(each.help or "")))
    return table(("argument or option", "default", "meaning"), rows)


def _is_option(each: Any) -> bool:
    return bool(each.opts) and each.opts[0].startswith("-")


def _metavar(each: Any) -> str:
    return str(each.metavar or each.name.upper())


def _default(each: Any) -> str:
    """Return what is taken where it is left out; nothing for switches and for what has no fixed default."""
    if each.required:
        return "required"
    value = each.default
    if value is None or value == "" or value == [] or isinstance(value, bool) or callable(value):
        return ""
    return code(str(value))
