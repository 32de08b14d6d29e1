"""`ramphold watch`: the operator's screen on a running daemon."""

import asyncio
import logging
import sys
from pathlib import Path

import click

from ramphold.cli._daemon_client import socket_path
from ramphold.errors import InputError
from ramphold_tui.app import make_app
from ramphold_tui.link import probe
from ramphold_tui.plain_text import report_changes


@click.command("watch")
@click.option("--socket", type=click.Path(path_type=Path), help="The daemon's control socket.")
@click.option("--config", type=click.Path(path_type=Path), help="A bench.toml that names it.")
@click.option("--plain", is_flag=True, help="Print one line a change, for screen readers and logs.")
def command(*, socket: Path | None, config: Path | None, plain: bool) -> None:
    """Watch load, stress, state and hold of the run on a running daemon.

    It observes; it is no guard and no load limiter. Closing it affects neither run nor recording.
    """
    path = socket_path(socket, config)
    asyncio.run(probe(path))
    if plain:
        asyncio.run(report_changes(path, click.echo))
    # Textual draws on stderr.
    elif not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise InputError("watch: the screen needs a terminal: expected one, or the option --plain")
    else:
        # A warning logged to stderr would be written across the screen.
        logging.getLogger().addHandler(logging.NullHandler())
        app = make_app(path)
        app.run()
        raise SystemExit(app.return_code or 0)
