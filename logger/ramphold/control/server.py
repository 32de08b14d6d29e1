"""The daemon's side of the control socket: answers requests, tells topics, waits for no client.

Parameters are checked before a handler runs, so any other error of a handler is our bug and is
answered as one. Requests of one client are served side by side, so that a mass that waits for the
balance does not delay the end of a run; those of a batch are served in order. A request that was
read is carried out, even when its client has gone.
"""

import asyncio
import contextlib
import logging
import os
import socket
import stat
from pathlib import Path
from typing import Self, TypeVar

from ramphold.control._served_client import ServedClient
from ramphold.control.act import Topic
from ramphold.control.handlers import Handlers
from ramphold.errors import LinkError
from ramphold.wire import jsonrpc

R = TypeVar("R")

_log = logging.getLogger(__name__)

# Owner and group may connect, others may not.
_UMASK = 0o117
_PROBE_S = 1.0
# Far below the 1024 files that a process may usually open: a port can always be opened again.
_MOST_CLIENTS = 256
_MOST_OF_A_PROCESS = 32


class Server:
    """Serves a Unix socket, between `start` and `aclose` or in `async with`."""

    def __init__(self, path: Path, handlers: Handlers) -> None:
        self._path = path
        self._handlers = handlers
        self._clients: dict[ServedClient, asyncio.Task[None]] = {}
        self._server: asyncio.Server | None = None
        self._full = ""

    async def start(self) -> None:
        """Listen.

        Raises:
            LinkError: another daemon listens there, or the path can't be used.
        """
        _clear_stale(self._path)
        self._server = await asyncio.start_unix_server(
            self._connected, sock=_bind(self._path), limit=ServedClient.LINE_LIMIT
        )

    def publish(self, topic: Topic[R], payload: R) -> None:
        """Tell all subscribers of a topic, each as soon as it reads."""
        subscribers = [client for client in self._clients if topic.name in client.topics]
        if subscribers:
            line = jsonrpc.notification_line(topic.name, payload)
            for client in subscribers:
                client.send(line, replaces=topic.name if topic.replaceable else None)

    async def aclose(self) -> None:
        """Stop listening, drop all clients, and leave neither task nor file behind."""
        if self._server is None:
            return
        self._server.close()
        tasks = list(self._clients.values())
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
        client = ServedClient(reader, writer, self._handlers)
        if full := self._no_room(client.peer):
            writer.write(jsonrpc.fault_line(jsonrpc.Fault(jsonrpc.REFUSED, full)))
            writer.close()
            if full != self._full:  # a flood is worth one line
                _log.warning("%s refused: %s", client.peer, full)
                self._full = full
            return
        task = asyncio.create_task(client.run(), name="control client")
        self._clients[client] = task
        task.add_done_callback(lambda done: self._gone(client, done))

    def _no_room(self, peer: str) -> str:
        """Why another client can't be served; empty if it can."""
        of_it = sum(client.peer == peer for client in self._clients)
        if of_it >= _MOST_OF_A_PROCESS:
            return f"this process has {of_it} connections: close some first"
        if len(self._clients) >= _MOST_CLIENTS:
            return f"{len(self._clients)} clients are connected: close some first"
        return ""

    def _gone(self, client: ServedClient, task: asyncio.Task[None]) -> None:
        del self._clients[client]
        self._full = ""
        if not task.cancelled() and (error := task.exception()) is not None:
            _log.error("%s failed", client.peer, exc_info=error)


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
        # Only a path that is too long has no number.
        told = error.strerror or f"{error}; choose a shorter one (a demo takes it from TMPDIR)"
        raise LinkError(f"{path}: can't listen there: {told}") from None
    finally:
        os.umask(umask)
    return listener
