"""Commands that ask the running daemon: which daemon, who asks, how the answer is shown."""

import asyncio
import functools
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click
from msgspec import Struct

from ramphold.cli._common import json_option, show
from ramphold.cli._pin import read_pin
from ramphold.control.act import Method, NoParams
from ramphold.control.client import Client
from ramphold.control.people_methods import PEOPLE, cannot_sign
from ramphold.errors import CommandRefused, InputError

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

# Where the shipped configuration and service put it.
_SOCKET = Path("/run/ramphold/control.sock")

by_option = click.option("--by", required=True, metavar="INITIALS", help="Who does it.")


class DaemonClient:
    """Asks the running daemon, and shows its answers."""

    def __init__(self, socket: Path | None, config: Path | None, *, as_json: bool) -> None:
        self._path = socket_path(socket, config)
        self._as_json = as_json

    def ask(self, method: Method[P, R], params: P) -> R:
        """Call one method.

        Raises:
            InputError: the daemon finds a parameter wrong.
            LinkError: no daemon listens.
            CommandRefused: the daemon refuses.
        """

        async def call() -> R:
            async with await Client.connect(self._path) as client:
                return await client.call(method, params)

        return asyncio.run(call())

    def pin(self, operator: str, pin_file: Path | None) -> str | None:
        """The PIN of a person who signs; None where nobody signs at the bench.

        Raises:
            InputError: it cannot be read.
            CommandRefused: the person does not sign at the bench.
        """
        found = self.ask(PEOPLE, NoParams())
        if not found.people and pin_file is None:
            return None
        if found.people and found.find(operator) is None:
            raise CommandRefused(cannot_sign(operator, found.former(operator)))
        return read_pin(pin_file, operator)

    def show(self, result: object, text: str) -> None:
        """Print a result."""
        show(result, text, as_json=self._as_json)


class SampleKeyType(click.ParamType[int | str]):
    """A sample by its laboratory number, or by its own number as in `#7`."""

    name = "sample"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int | str:
        """The number or the laboratory number."""
        del param, ctx
        return value if isinstance(value, int) else sample_key(str(value))


def socket_path(socket: Path | None, config: Path | None) -> Path:
    """The daemon's socket: the one given, the configuration's, or where the service puts it.

    Raises:
        InputError: both are given.
        ConfigError: the configuration can't be read.
    """
    if socket is not None and config is not None:
        raise InputError("--socket and --config both given: expected one of them")
    if config is not None:
        from ramphold.daemon.config import load_config  # noqa: PLC0415 - the screen must not wait for it

        return Path(load_config(config).control.socket)
    return socket or _SOCKET


def with_daemon(command: Callable[..., None]) -> Callable[..., None]:
    """Give a command the options that name a daemon; it takes the client as `daemon`."""

    @functools.wraps(command)
    def run(*, socket: Path | None, config: Path | None, as_json: bool, **given: Any) -> None:  # noqa: ANN401
        command(daemon=DaemonClient(socket, config, as_json=as_json), **given)

    path = click.Path(path_type=Path)
    socket = click.option("--socket", type=path, help="The daemon's control socket.")
    config = click.option("--config", type=path, help="A bench.toml that names it.")
    return socket(config(json_option(run)))


def sample_key(text: str) -> int | str:
    """A sample as it is typed: `#7` is its number, anything else its laboratory number."""
    return int(text[1:]) if text[:1] == "#" and text[1:].isdigit() else text
