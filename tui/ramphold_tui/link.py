"""The link to the daemon: the only module that uses the control client."""

import asyncio
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from ramphold.control import methods, run_methods, run_queries, server_methods
from ramphold.control.act import Method, NoParams
from ramphold.control.client import Client
from ramphold.control.run_methods import Live
from ramphold.errors import CommandRefused, InputError, LinkError, RampholdError
from ramphold_tui.view.bench_state import Heard, LinkLost, LinkUp

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

# Soon at first, since a daemon that restarts is back within a second or two.
_RETRIES_S = (0.1, 0.2, 0.5, 1.0, 2.0)


async def probe(path: Path) -> None:
    """Check that a daemon listens, before a screen is opened.

    Raises:
        LinkError: none does.
    """
    async with await Client.connect(path):
        pass


class DaemonLink:
    """Passes on what the daemon tells, and reconnects by itself.

    Args:
        path: the daemon's socket.
        tell: is given all that was heard; must return at once.
    """

    def __init__(self, path: Path, tell: Callable[[Heard], object]) -> None:
        self._path, self._tell = path, tell
        self._client: Client | None = None
        self._run: int | None = None

    async def run(self) -> None:
        """Keep the link up until cancelled."""
        tries = 0
        while True:
            try:
                async with await Client.connect(self._path) as client:
                    tries = 0
                    await self._follow(client)
            except RampholdError as error:
                self._tell(LinkLost(str(error)))
            finally:
                self._client = None
            await asyncio.sleep(_RETRIES_S[min(tries, len(_RETRIES_S) - 1)])
            tries += 1

    async def ask(self, method: Method[P, R], params: P) -> R:
        """Ask the daemon for something.

        Raises:
            LinkError: the link is down, or breaks meanwhile.
            CommandRefused, InputError, WireError: as `Client.call`.
        """
        if self._client is None:
            raise LinkError(f"{self._path}: the daemon does not answer; nothing was done")
        return await self._client.call(method, params)

    async def _follow(self, client: Client) -> None:
        self._run = None
        told = await client.subscribe(*methods.TOPICS.values())
        status = await client.call(server_methods.STATUS, NoParams())
        live = await client.call(run_methods.SNAPSHOT, NoParams())
        await self._learn(client, live)
        self._client = client
        # Together, so that what was known before the link broke is not taken for the present.
        self._tell(LinkUp(status, live))
        async for message in told:
            if isinstance(message, Live):
                await self._learn(client, message)
            self._tell(message)

    async def _learn(self, client: Client, live: Live) -> None:
        if live.run is None or live.run == self._run:
            return
        try:
            detail = await client.call(run_queries.RUN, run_queries.RunParams(run=live.run))
        except (CommandRefused, InputError):
            return  # not stored yet; asked for again at the next reading
        self._run = live.run
        self._tell(detail.run)
