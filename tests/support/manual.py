"""Writes the manual page from the commands themselves: `make manual`."""

import re
from collections.abc import Iterator
from pathlib import Path

import click

from ramphold.cli import cli

PATH = Path(__file__).parents[2] / "man" / "ramphold.1"
_HEAD = """\
.\\" Written by `make manual` from the commands themselves.
.TH RAMPHOLD 1
.SH NAME
ramphold \\- the instrument beside a proppant laboratory's crush press
.SH SYNOPSIS
.B ramphold
.I COMMAND
[\\fIOPTIONS\\fR]
.SH DESCRIPTION
"""
_TAIL = """\
.SH EXIT STATUS
0 done, 1 the answer is no, 2 bad input, told in one line on standard error.
.SH ENVIRONMENT
.TP
.B NO_COLOR
The screen uses no colours.
.TP
.B XDG_STATE_HOME
The screen remembers colours and sounds in
.IR ramphold/screen.json .
.SH CAUTIONS
Ramphold observes. It is no guard, no interlock and no load limiter. Platens crush, parts fly out,
oil from a pinhole goes through the skin, silica dust harms the lungs: README has the cautions.
"""


def manual() -> str:
    """The manual page in the language of man."""
    # As the program itself makes it: a command keeps the help option of the context it meets first.
    root = cli.make_context("ramphold", ["--version"], resilient_parsing=True)
    sections = "".join(_section(command, ctx) for command, ctx in _commands(cli, root))
    return f"{_HEAD}{_text(cli.help or '')}\n.SH COMMANDS\n{sections}{_TAIL}"


def _commands(
    group: click.Group, ctx: click.Context
) -> Iterator[tuple[click.Command, click.Context]]:
    for name in group.list_commands(ctx):
        command = group.get_command(ctx, name)
        inner = click.Context(command, info_name=name, parent=ctx)
        if isinstance(command, click.Group):
            yield from _commands(command, inner)
        else:
            yield command, inner


def _section(command: click.Command, ctx: click.Context) -> str:
    usage = " ".join(command.collect_usage_pieces(ctx))
    lines = [f".SS {_text(ctx.command_path)} {_text(usage)}", _text(command.help or "")]
    for parameter in command.get_params(ctx):
        record = parameter.get_help_record(ctx)
        if record is not None and record[1]:
            lines += [".TP", f".B {_text(record[0])}", _text(record[1])]
    return "\n".join(lines) + "\n"


def _text(words: str) -> str:
    """Words as man takes them: one paragraph a line, nothing read as an instruction."""
    paragraphs = [" ".join(one.split()) for one in re.split(r"\n\s*\n", words.replace("\b", ""))]
    escaped = [one.replace("\\", "\\e").replace("-", "\\-") for one in paragraphs if one]
    return "\n.PP\n".join(f"\\&{one}" if one[:1] in ".'" else one for one in escaped)


if __name__ == "__main__":
    PATH.parent.mkdir(exist_ok=True)
    PATH.write_text(manual(), encoding="utf-8")
