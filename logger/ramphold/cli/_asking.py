"""Commands that ask the running daemon: which one, who does it, and how the answer is shown."""

import asyncio
import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click
from msgspec import Struct

from ramphold.cli._common import json_option, show
from ramphold.control.act import Method
from ramphold.control.client import Client
from ramphold.daemon.config import load_config
from ramphold.errors import InputError

__all__ = ["Daemon", "asks", "by_option", "which"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

# Where the shipped configuration and service put it.
_SOCKET = Path("/run/ramphold/control.sock")

by_option = click.option("--by", required=True, metavar="INITIALS", help="Who does it.")


class Daemon:
    """The running daemon, and how its answers are shown."""

    def __init__(self, socket: Path | None, config: Path | None, *, as_json: bool) -> None:
        if socket is not None and config is not None:
            raise InputError("--socket and --config both given: expected one of them")
        named = Path(load_config(config).control.socket) if config else None
        self._path = socket or named or _SOCKET
        self._as_json = as_json

    def ask(self, method: Method[P, R], params: P) -> R:
        """Ask one thing.

        Raises:
            InputError: it finds the parameters wrong.
            LinkError: nobody listens.
            CommandRefused: it declines.
        """

        async def call() -> R:
            async with await Client.connect(self._path) as client:
                return await client.call(method, params)

        return asyncio.run(call())

    def show(self, result: object, text: str) -> None:
        """Print an answer."""
        show(result, text, as_json=self._as_json)


def asks(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that say which daemon; it takes that as `daemon`."""

    @functools.wraps(command)
    def run(*, socket: Path | None, config: Path | None, as_json: bool, **given: Any) -> None:  # noqa: ANN401
        command(daemon=Daemon(socket, config, as_json=as_json), **given)

    path = click.Path(path_type=Path)
    socket = click.option("--socket", type=path, help="The daemon's control socket.")
    config = click.option("--config", type=path, help="A bench.toml that names it.")
    return socket(config(json_option(run)))


def which(text: str) -> int | str:
    """A sample as it is given on the command line: `#7` is its number, all else its own name."""
    return int(text[1:]) if text[:1] == "#" and text[1:].isdigit() else text
