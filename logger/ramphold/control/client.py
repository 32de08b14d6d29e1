"""The client's side of the control socket, for the screen and the commands."""

import asyncio
import contextlib
import itertools
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any, Self, TypeVar

import msgspec
from msgspec import Struct

from ramphold.control._mailbox import Mailbox
from ramphold.control.act import Method, Topic
from ramphold.control.methods import TOPICS, Told
from ramphold.control.server_methods import SUBSCRIBE, SubscribeParams
from ramphold.errors import CommandRefused, InputError, LinkError, RampholdError, WireError
from ramphold.undecodable import UNDECODABLE
from ramphold.wire import jsonrpc

P = TypeVar("P", bound=Struct)
R = TypeVar("R")

# A page of runs with plan and assessment each is a few hundred kilobytes.
_LINE_LIMIT = 4 * 1024 * 1024


class Client:
    """A connection to the daemon; `connect` opens it, `async with` or `aclose` closes it."""

    def __init__(
        self, path: Path, reader: asyncio.StreamReader, writer: asyncio.StreamWriter
    ) -> None:
        self._path = path
        self._reader, self._writer = reader, writer
        self._ids = itertools.count(1)
        self._calls: dict[int, asyncio.Future[msgspec.Raw | jsonrpc.Fault]] = {}
        self._told: Mailbox[Told] = Mailbox()
        self._broken: str | None = None
        self._parting = "the daemon closed the link: is it still running?"
        self._listener = asyncio.create_task(self._listen(), name=f"control client {path}")

    @classmethod
    async def connect(cls, path: Path) -> Self:
        """Connect to the daemon that listens at `path`.

        Raises:
            LinkError: nobody listens there, or it is not allowed.
        """
        try:
            reader, writer = await asyncio.open_unix_connection(path, limit=_LINE_LIMIT)
        except (FileNotFoundError, ConnectionRefusedError):
            raise LinkError(
                f"{path}: no daemon listens there: start one with `ramphold daemon --config FILE`"
            ) from None
        except PermissionError:
            raise LinkError(
                f"{path}: not allowed: the user must be in the socket's group"
            ) from None
        except OSError as error:
            raise LinkError(f"{path}: expected the daemon's socket: {error}") from None
        return cls(path, reader, writer)

    async def call(self, method: Method[P, R], params: P) -> R:
        """Call a method, and wait for its result.

        Raises:
            CommandRefused: the daemon refuses; its sentence says why.
            InputError: a parameter is not as expected.
            LinkError: the connection is down, or breaks; whether the call was served is unknown.
            WireError: the daemon failed, or is of another version.
        """
        if self._broken is not None:
            raise LinkError(self._broken)
        number = next(self._ids)
        answer = self._calls[number] = asyncio.get_running_loop().create_future()
        try:
            self._writer.write(jsonrpc.request_line(number, method.name, params))
            with contextlib.suppress(ConnectionError):  # the listener raises it
                await self._writer.drain()
            result = await answer
        finally:
            del self._calls[number]
        if isinstance(result, jsonrpc.Fault):
            raise _error(result)
        return _decode(result, method.result, method.name)

    async def subscribe(self, *topics: Topic[Any]) -> AsyncIterator[Told]:
        """Subscribe to topics, instead of any before, and iterate over their messages.

        Of a replaceable topic only the newest message waits. The iterator raises LinkError when
        the connection breaks.
        """
        names = tuple(topic.name for topic in topics)
        await self.call(SUBSCRIBE, SubscribeParams(topics=names))
        return self._notifications()

    async def aclose(self) -> None:
        """Close the connection."""
        self._listener.cancel()
        await asyncio.wait([self._listener])
        self._break(f"{self._path}: the link was closed")
        self._writer.close()
        with contextlib.suppress(OSError):
            await self._writer.wait_closed()

    async def __aenter__(self) -> Self:
        return self

    async def __aexit__(self, *_: object) -> None:
        await self.aclose()

    async def _notifications(self) -> AsyncIterator[Told]:
        while True:
            yield await self._told.get()

    async def _listen(self) -> None:
        try:
            while True:
                self._take(jsonrpc.parse_incoming(await self._reader.readuntil()))
        except (asyncio.IncompleteReadError, OSError):
            self._break(f"{self._path}: {self._parting}")
        except asyncio.LimitOverrunError:
            self._break(f"{self._path}: a message over {_LINE_LIMIT} bytes: expected less")
        except WireError as error:
            self._break(f"{self._path}: {error}")

    def _take(self, message: jsonrpc.Reply | jsonrpc.Notification) -> None:
        if isinstance(message, jsonrpc.Notification):
            topic = TOPICS.get(message.method)
            if topic is not None:  # a newer daemon may have more topics
                told = _decode(message.params, topic.payload, topic.name)
                self._told.put(told, replaces=topic.name if topic.replaceable else None)
            return
        if message.id is None and isinstance(message.result, jsonrpc.Fault):
            self._parting = message.result.message  # of the link, not of a call
            return
        answer = self._calls.get(message.id) if isinstance(message.id, int) else None
        if answer is not None and not answer.done():
            answer.set_result(message.result)

    def _break(self, reason: str) -> None:
        self._broken = self._broken or reason
        self._told.close(self._broken)
        for answer in self._calls.values():
            if not answer.done():
                answer.set_exception(LinkError(self._broken))
        self._writer.transport.abort()


def _decode(text: msgspec.Raw, wanted: type[R], name: str) -> R:
    try:
        return msgspec.json.decode(text, type=wanted)
    except UNDECODABLE as error:
        raise WireError(f"{name}: not what this version expects of the daemon: {error}") from None


def _error(fault: jsonrpc.Fault) -> RampholdError:
    kind = {jsonrpc.REFUSED: CommandRefused, jsonrpc.INVALID_PARAMS: InputError}.get(fault.code)
    return WireError(fault.message) if kind is None else kind(fault.message)
