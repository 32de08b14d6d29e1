"""`ramphold browse`: the laboratory's page in a web browser."""

import importlib
import shlex
import sys
from pathlib import Path
from types import ModuleType

import click

from ramphold.errors import InputError


@click.command("browse")
@click.option("--archive", metavar="URL", help="The archive: a SQLite file, or a PostgreSQL URL.")
@click.option("--config", type=click.Path(path_type=Path), help="The page's configuration.")
@click.option("--host", help="Where to listen, instead of this machine alone.")
@click.option("--port", type=click.IntRange(0, 65535), help="8321 by default; 0 is any free one.")
def command(
    *, archive: str | None, config: Path | None, host: str | None, port: int | None
) -> None:
    """Serve the laboratory's page: benches, samples, runs, charts, open work; ends on Ctrl-C.

    It only reads. It listens on this machine alone unless --host or the configuration says
    otherwise, and asks nobody who he is: what reaches it reads everything.
    """
    serving, settings = browse_module("serving"), browse_module("config")
    given = {"archive": archive, "host": host, "port": port}
    wanted = settings.chosen(config, {key: one for key, one in given.items() if one is not None})
    if not settings.is_here(wanted.host):
        click.echo(f"whoever reaches {wanted.host} reads everything: no name is asked", err=True)
    serving.serve(wanted, lambda url: click.echo(f"the laboratory's page: {url}"))


def browse_module(name: str) -> ModuleType:
    """A module of `browse`, which needs the extra of that name.

    Raises:
        InputError: the extra is not installed.
    """
    try:
        return importlib.import_module(f"ramphold.browse.{name}")
    except ModuleNotFoundError as error:
        if error.name not in ("datasette", "uvicorn"):
            raise
        raise InputError(
            f"browse needs datasette: {shlex.quote(sys.executable)} -m pip install datasette"
        ) from None
