"""The command line `ramphold`: one module per command, each thin.

Exit status: 0 done, 1 the answer is no, 2 bad input, told in one line on stderr.
"""

import gc
import importlib
import os
import re
import sys
from types import ModuleType

import click
from click.shell_completion import CompletionItem

from ramphold import __version__
from ramphold.errors import RampholdError
from ramphold.plain_text import VisibleStream, check_plain

__all__ = ["main"]

# Each command's line in the list of commands. Its module, of the same name, holds it as `command`
# and is imported only when it is called: neither the list nor a calculation waits for the
# libraries of the screen.
_COMMANDS = {
    "backup": "Copy the bench's database beside the daemon, and check the copy.",
    "bench": "Record daily checks, cylinders and wear of the bench.",
    "browse": "Serve the laboratory's page, seen in a web browser.",
    "calc": "Work out force, charge, sieve analysis and crush class.",
    "calibrate": "Fit the load's readings to known forces.",
    "check": "Check the configuration, instruments and records.",
    "collect": "File what the benches send in the laboratory's archive.",
    "commission": "Try out a press, for the pacing to start from.",
    "daemon": "Read the instruments, follow the runs, store the record.",
    "demo": "Crush sand on a simulated bench.",
    "export": "Write tables, traces and samples as CSV or JSON.",
    "key": "Renew the keys of bench and collector.",
    "person": "Keep the persons who sign, each with a key.",
    "practise": "Exercise ramp and hold at a simulated lever.",
    "publish": "Show how the records reach the laboratory's server.",
    "record": "Write what an instrument sends to a transcript.",
    "replay": "Follow and judge a recorded load.",
    "report": "Write a sample's report as HTML and PDF.",
    "restore": "Make a bench's database from a copy or the archive.",
    "sample": "Take a sample from receipt to review.",
    "seal": "Write the proof into a report, or beside a trace.",
    "setup": "Recognise the instruments and write the configuration.",
    "study": "Plan, collect and report a study of reproducibility.",
    "verify": "Check that a report or trace is what was signed.",
    "watch": "Open the operator's screen.",
    "weigh": "Record the mass on the balance.",
}


# Most characters of an error's text, and of a word of it where that would be longer: what people
# typed, or a path, and not what was expected instead.
_LONGEST, _WORD = 200, 60


class _LazyGroup(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(_COMMANDS)

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        for one in args:
            check_plain(one, "command line")
        return super().parse_args(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        del ctx
        with formatter.section("Commands"):
            formatter.write_dl(list(_COMMANDS.items()))

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem]:
        found = [
            CompletionItem(name, help=about)
            for name, about in _COMMANDS.items()
            if name.startswith(incomplete)
        ]
        return found or click.Command.shell_complete(self, ctx, incomplete)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in _COMMANDS:
            return None
        command = _loaded(f"ramphold.cli.{cmd_name}").command
        if not isinstance(command, click.Command):
            raise TypeError(f"ramphold.cli.{cmd_name}.command is no command")
        return command


def _loaded(name: str) -> ModuleType:
    """A module, loaded without looking for garbage among what it and its own imports define.

    There is next to none, and the looking took a seventh of the time. Nor is it looked at later.
    """
    if name in sys.modules:
        return sys.modules[name]
    gc.disable()
    try:
        return importlib.import_module(name)
    finally:
        gc.freeze()
        gc.enable()


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="ramphold")
def cli() -> None:
    """The instrument beside the crush press. It observes; it is no guard and no load limiter."""


def main() -> None:
    """Run the command line and exit with its status."""
    for name in ("stdout", "stderr"):
        stream = getattr(sys, name)
        if stream is not None and stream.isatty():
            setattr(sys, name, VisibleStream(stream))
    try:
        status = _invoked()
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.message)
        sys.exit(0)
    except click.ClickException as error:
        sys.exit(_told(_in_words(error), error.exit_code or 2))
    except click.Abort:
        sys.exit(130)
    except RampholdError as error:
        sys.exit(_told(str(error), 2))
    except BrokenPipeError:
        # Whoever read our output has left; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    sys.exit(status if isinstance(status, int) else 0)


def _invoked() -> object:
    """The command's status. What failed in one of several tasks is raised as it is alone."""
    try:
        return cli.main(standalone_mode=False)
    except BaseExceptionGroup as group:
        error: BaseException = group
        while isinstance(error, BaseExceptionGroup) and len(error.exceptions) == 1:
            error = error.exceptions[0]
        raise error from None


def _in_words(error: click.ClickException) -> str:
    """What click says, but with the numbers that are expected instead of its own words for them."""
    text = error.format_message()
    kind = error.param.type if isinstance(error, click.BadParameter) and error.param else None
    if not isinstance(kind, click.IntRange | click.FloatRange):
        return text
    expected = "a whole number" if isinstance(kind, click.IntRange) else "a number"
    if kind.min is not None:
        expected += f"{' above' if kind.min_open else ' from'} {kind.min:g}"
    if kind.max is not None:
        expected += f"{' below' if kind.max_open else ' to'} {kind.max:g}"
    point = ", with a point" if re.search(r"'\d+,\d+'", text) else ""
    return re.sub(r"(is not (a valid .*|in the range .*))", f"is not {expected}{point}", text)


def _told(text: str, status: int) -> int:
    print(f"ramphold: {_short(' '.join(text.split()))}", file=sys.stderr)  # noqa: T201 - the one place that tells
    return status


def _short(text: str) -> str:
    """A text of at most 200 characters: what is cut first is the middle of its longest words."""
    if len(text) > _LONGEST:
        words = (one if len(one) <= _WORD else f"{one[:40]}…{one[-19:]}" for one in text.split())
        text = " ".join(words)
    return text if len(text) <= _LONGEST else f"{text[:120]}…{text[-79:]}"
