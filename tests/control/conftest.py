"""A server on a real Unix socket in a short path, with handlers of the test's own."""

import asyncio
import socket
import tempfile
from contextlib import asynccontextmanager
from pathlib import Path

import pytest

from ramphold.control import run_methods, server_methods
from ramphold.control.client import Client
from ramphold.control.handlers import Handlers
from ramphold.control.server import Server
from ramphold.core import ReadingsLost


@pytest.fixture
def path():
    # pytest's own folders can be longer than the 107 bytes that a socket's name may have.
    with tempfile.TemporaryDirectory() as folder:
        yield Path(folder) / "control.sock"


@pytest.fixture
def bench(path):
    return Bench(path)


class Bench:
    """A daemon's stand-in: what a test lets it answer, and its socket."""

    def __init__(self, path):
        self.path = path
        self.live_run = None
        self.handlers = Handlers(live_run=lambda: self.live_run)
        self.handlers.on(server_methods.STATUS, self.status)
        self.server = Server(path, self.handlers)

    @asynccontextmanager
    async def serving(self):
        async with self.server:
            yield self.server
        left = asyncio.all_tasks() - {asyncio.current_task()}
        assert not left, f"tasks left: {left}"
        assert not self.path.exists()

    @asynccontextmanager
    async def linked(self):
        async with self.serving(), await Client.connect(self.path) as client:
            yield client

    async def status(self, _):
        return server_methods.Status(
            bench="press 1", version="0.1.0", t_ns=1, utc_ns=2, instruments=(), run=None
        )

    def raw(self):
        """A client that sends what it likes, and reads when it likes."""
        return RawLink(self.path)


class RawLink:
    def __init__(self, path):
        self._socket = socket.socket(socket.AF_UNIX)
        self._socket.connect(str(path))
        self._socket.setblocking(False)  # noqa: FBT003
        self._received = b""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._socket.close()

    async def send(self, data):
        await asyncio.get_running_loop().sock_sendall(self._socket, data)

    async def line(self):
        """The next line, or b"" at the end."""
        while b"\n" not in self._received:
            more = await self._more()
            if not more:
                return b""
            self._received += more
        line, _, self._received = self._received.partition(b"\n")
        return line

    async def _more(self):
        try:
            return await asyncio.get_running_loop().sock_recv(self._socket, 65536)
        except ConnectionResetError:
            return b""

    async def ask(self, data):
        await self.send(data)
        return await self.line()

    def stop_sending(self):
        self._socket.shutdown(socket.SHUT_WR)


@pytest.fixture
def live():
    """The n-th live snapshot."""
    return lambda n: run_methods.Live(
        t_ns=n, reading_t_ns=None, force_lbf=None, quality=None, run=None, snapshot=None
    )


@pytest.fixture
def event():
    """The n-th event of run 1."""
    return lambda n: run_methods.RunEvent.of(1, n, ReadingsLost(t_ns=n, since_ns=0))
