"""The command line `ramphold`: one module per command, each thin.

Exit status: 0 done, 1 the answer is no, 2 bad input, told in one line on stderr.
"""

import importlib
import os
import sys

import click

from ramphold import __version__
from ramphold.errors import RampholdError

__all__ = ["main"]

# Command name -> module that holds it as `command`; imported only when it is called, so that a
# calculation does not wait for the screen's libraries.
_COMMANDS = {
    "bench": "ramphold.cli.bench",
    "calc": "ramphold.cli.calc",
    "calibrate": "ramphold.cli.calibrate",
    "check": "ramphold.cli.check",
    "collect": "ramphold.cli.collect",
    "commission": "ramphold.cli.commission",
    "daemon": "ramphold.cli.daemon",
    "demo": "ramphold.cli.demo",
    "export": "ramphold.cli.export",
    "publish": "ramphold.cli.publish",
    "record": "ramphold.cli.record",
    "replay": "ramphold.cli.replay",
    "report": "ramphold.cli.report",
    "sample": "ramphold.cli.sample",
    "watch": "ramphold.cli.watch",
    "weigh": "ramphold.cli.weigh",
}


class _LazyGroup(click.Group):
    def list_commands(self, ctx: click.Context) -> list[str]:
        del ctx
        return list(_COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        del ctx
        if cmd_name not in _COMMANDS:
            return None
        command = importlib.import_module(_COMMANDS[cmd_name]).command
        if not isinstance(command, click.Command):
            raise TypeError(f"{_COMMANDS[cmd_name]}.command is no command")
        return command


@click.group(cls=_LazyGroup)
@click.version_option(__version__, prog_name="ramphold")
def cli() -> None:
    """The instrument beside the crush press. It observes; it is no guard and no load limiter."""


def main() -> None:
    """Run the command line and exit with its status."""
    try:
        status = cli.main(standalone_mode=False)
    except click.exceptions.NoArgsIsHelpError as error:
        click.echo(error.message)
        sys.exit(0)
    except click.ClickException as error:
        sys.exit(_told(error.format_message(), error.exit_code or 2))
    except click.Abort:
        sys.exit(130)
    except RampholdError as error:
        sys.exit(_told(str(error), 2))
    except BrokenPipeError:
        # Whoever read our output has left; there is nobody to tell.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    sys.exit(status if isinstance(status, int) else 0)


def _told(text: str, status: int) -> int:
    print(f"ramphold: {' '.join(text.split())}", file=sys.stderr)  # noqa: T201 - the one place that tells
    return status
