"""The daemon's side of the control socket: takes requests, tells topics, waits for nobody.

Parameters are checked before a handler runs, so whatever else a handler raises is our bug and
is answered as one. Requests of one link are served side by side, so that a capture which waits
for the balance does not hold up the end of a run; those of a batch one after the other. A
request once taken is carried out, even when its link is gone.
"""

import asyncio
import contextlib
import logging
import os
import socket
import stat
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any, Self, TypeVar

from msgspec import Struct

from ramphold.control._link import Link
from ramphold.control.methods import Method, Topic
from ramphold.errors import LinkError
from ramphold.wire import jsonrpc

__all__ = ["Handlers", "Server"]

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

_log = logging.getLogger(__name__)

# Owner and group may connect; nobody may execute, others nothing.
_UMASK = 0o117
_PROBE_S = 1.0


class Handlers:
    """What answers each method."""

    def __init__(self) -> None:
        self._table: dict[str, Callable[[Any], Awaitable[Any]]] = {}

    def on(self, method: Method[P, R], handler: Callable[[P], Awaitable[R]]) -> None:
        """Let `handler` answer `method`; the type checker sees that they fit."""
        self._table[method.name] = handler

    def get(self, name: str) -> Callable[[Any], Awaitable[Any]] | None:
        """The handler of a method, if it has one."""
        return self._table.get(name)


class Server:
    """Serves one Unix socket; `async with` or `start` and `aclose`."""

    def __init__(self, path: Path, handlers: Handlers) -> None:
        self._path = path
        self._handlers = handlers
        self._links: dict[Link, asyncio.Task[None]] = {}
        self._server: asyncio.Server | None = None

    async def start(self) -> None:
        """Listen.

        Raises:
            LinkError: another daemon listens there, or the path can't be used.
        """
        _clear_stale(self._path)
        self._server = await asyncio.start_unix_server(
            self._connected, sock=_bind(self._path), limit=Link.LINE_LIMIT
        )

    def publish(self, topic: Topic[R], payload: R) -> None:
        """Tell all who subscribed, at once or as soon as they take it."""
        listeners = [link for link in self._links if topic.name in link.topics]
        if listeners:
            line = jsonrpc.notification_line(topic.name, payload)
            for link in listeners:
                link.send(line, replaces=topic.name if topic.replaceable else None)

    async def aclose(self) -> None:
        """Stop listening, drop all links, and leave neither task nor file behind."""
        if self._server is None:
            return
        self._server.close()
        tasks = list(self._links.values())
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
        await self._server.wait_closed()
        self._server = None
        self._path.unlink(missing_ok=True)

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.aclose()

    def _connected(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        # A plain function: asyncio's own task for a coroutine complains when it is cancelled.
        link = Link(reader, writer, self._handlers.get)
        task = asyncio.create_task(link.run(), name="control link")
        self._links[link] = task
        task.add_done_callback(lambda done: self._gone(link, done))

    def _gone(self, link: Link, task: asyncio.Task[None]) -> None:
        del self._links[link]
        if not task.cancelled() and (error := task.exception()) is not None:
            _log.error("%s failed", link.peer, exc_info=error)


def _clear_stale(path: Path) -> None:
    """Remove the socket that a dead daemon left behind; refuse one that answers."""
    try:
        mode = path.lstat().st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise LinkError(f"{path}: can't be used as the control socket: {error.strerror}") from None
    if not stat.S_ISSOCK(mode):
        raise LinkError(f"{path}: is not a socket: remove it, or choose another path")
    with contextlib.closing(socket.socket(socket.AF_UNIX)) as probe:
        probe.settimeout(_PROBE_S)
        try:
            probe.connect(str(path))
        except (ConnectionRefusedError, FileNotFoundError):
            path.unlink(missing_ok=True)
            return
        except OSError as error:
            raise LinkError(f"{path}: can't tell whether a daemon listens: {error}") from None
    raise LinkError(f"{path}: another daemon listens there: stop it, or choose another path")


def _bind(path: Path) -> socket.socket:
    listener = socket.socket(socket.AF_UNIX)
    umask = os.umask(_UMASK)
    try:
        listener.bind(str(path))
    except OSError as error:
        listener.close()
        raise LinkError(f"{path}: can't listen there: {error}") from None
    finally:
        os.umask(umask)
    return listener
