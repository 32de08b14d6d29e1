"""One client's connection, on the server's side."""

import asyncio
import contextlib
import logging
import socket
import struct

from msgspec import UnsetType

from ramphold.control._mailbox import Mailbox
from ramphold.control.handlers import Handlers
from ramphold.control.methods import TOPICS
from ramphold.control.server_methods import SUBSCRIBE, Subscribed, SubscribeParams
from ramphold.errors import (
    CommandRefused,
    InputError,
    KeyFileError,
    LinkError,
    PortError,
    StoreError,
)
from ramphold.wire import jsonrpc

_log = logging.getLogger(__name__)

# Above this the transport makes the sender wait, and replaceable messages replace each other.
_BUFFER_LIMIT = 64 * 1024
# Bytes of events and replies that may wait; a client that lets more pile up is dropped.
_QUEUE_LIMIT = 1024 * 1024
# Requests of one client served at once; more stay unread until one is answered.
_MOST_REQUESTS = 16
# The daemon has two seconds to stop in.
_FLUSH_S = 0.5

# Errors that a person can act on reach the caller in their own words; any other is our bug.
_DECLINED = (CommandRefused, PortError, StoreError, LinkError, KeyFileError)


class ServedClient:
    """Reads one client's requests, has them answered, and sends it replies and notifications."""

    #: Longest line that a client may send, in bytes.
    LINE_LIMIT = 64 * 1024

    def __init__(
        self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter, handlers: Handlers
    ) -> None:
        self._reader, self._writer, self._handlers = reader, writer, handlers
        self._outbox: Mailbox[bytes] = Mailbox()
        self.topics: frozenset[str] = frozenset()
        self.peer = _peer(writer)

    def send(self, line: bytes, *, replaces: str | None = None) -> None:
        """Send a line to the client, or queue it where others wait; drop one that does not read."""
        transport = self._writer.transport
        if not (self._outbox or transport.get_write_buffer_size() or transport.is_closing()):
            self._writer.write(line)
            return
        self._outbox.put(line, replaces=replaces, size=len(line))
        if self._outbox.kept_size > _QUEUE_LIMIT:
            self._drop("does not read its messages")

    async def run(self) -> None:
        """Serve until the client leaves."""
        _log.info("%s connected", self.peer)
        self._writer.transport.set_write_buffer_limits(high=_BUFFER_LIMIT)
        sender = asyncio.create_task(self._send(), name="control sender")
        try:
            await self._serve()
        finally:
            # A client may close its half and still read its answers, and a daemon that stops
            # still has events to send.
            self._outbox.close("served")
            try:
                with contextlib.suppress(TimeoutError, OSError):
                    async with asyncio.timeout(_FLUSH_S):
                        await sender
                        self._writer.close()
                        await self._writer.wait_closed()
            finally:
                # A server that stops cancels this task too; the socket must be closed even then.
                self._writer.transport.abort()
            _log.info("%s left", self.peer)

    async def _serve(self) -> None:
        free = asyncio.Semaphore(_MOST_REQUESTS)
        async with asyncio.TaskGroup() as requests:
            while (line := await self._line()) is not None:
                await free.acquire()
                task = requests.create_task(self._answer(line), name="control request")
                task.add_done_callback(lambda _: free.release())

    async def _line(self) -> bytes | None:
        try:
            return await self._reader.readuntil()
        except asyncio.LimitOverrunError:
            self._drop(f"sent a line over {self.LINE_LIMIT} bytes")
        except (asyncio.IncompleteReadError, OSError):
            pass
        return None

    async def _send(self) -> None:
        with contextlib.suppress(LinkError, OSError):
            while True:
                self._writer.write(await self._outbox.get())
                await self._writer.drain()

    def _drop(self, why: str) -> None:
        _log.warning("%s dropped: it %s", self.peer, why)
        self.topics = frozenset()
        self._outbox.close("dropped")
        self._writer.transport.abort()

    # --- answers -------------------------------------------------------------------------------

    async def _answer(self, line: bytes) -> None:
        message = jsonrpc.parse_requests(line)
        replies = [await self._reply(part) for part in message.parts]
        wanted = [reply for reply in replies if reply is not None]
        answer = jsonrpc.join_replies(wanted, batch=message.batch)
        if answer:
            self.send(answer)

    async def _reply(self, part: jsonrpc.Request | jsonrpc.Fault) -> bytes | None:
        if isinstance(part, jsonrpc.Fault):
            return jsonrpc.fault_line(part)
        number = None if isinstance(part.id, UnsetType) else part.id
        try:
            reply = jsonrpc.result_line(number, await self._result(part))
        except Exception as error:  # noqa: BLE001 - whatever it is, the caller gets an answer
            code, text = self._blame(part.method, error)
            reply = jsonrpc.fault_line(jsonrpc.Fault(code, text, number))
        return reply if part.wants_reply else None

    def _blame(self, method: str, error: Exception) -> tuple[int, str]:
        if isinstance(error, _UnknownMethod):
            return jsonrpc.METHOD_NOT_FOUND, f"there is no method {method!r}"
        if isinstance(error, InputError):
            return jsonrpc.INVALID_PARAMS, str(error)
        if isinstance(error, _DECLINED):
            _log.warning("%s: %s declined: %s", self.peer, method, error)
            return jsonrpc.REFUSED, str(error)
        _log.error("%s: %s failed", self.peer, method, exc_info=error)
        return jsonrpc.INTERNAL_ERROR, f"{method} failed in the daemon: its log says where"

    async def _result(self, request: jsonrpc.Request) -> object:
        if request.method == SUBSCRIBE.name:
            return self._subscribe(SUBSCRIBE.read_params(request.params))
        if request.method not in self._handlers:
            raise _UnknownMethod
        return await self._handlers.answer(request.method, request.params)

    def _subscribe(self, wanted: SubscribeParams) -> Subscribed:
        unknown = set(wanted.topics) - TOPICS.keys()
        if unknown:
            known = ", ".join(TOPICS)
            raise InputError(f"unknown topic {min(unknown)!r}: expected some of {known}")
        self.topics = frozenset(wanted.topics)
        return Subscribed(topics=wanted.topics)


class _UnknownMethod(Exception):
    """No such method, or no handler for it."""


def _peer(writer: asyncio.StreamWriter) -> str:
    """The process on the other side, as the kernel reports it."""
    credentials = struct.Struct("3i")
    wanted = (socket.SOL_SOCKET, socket.SO_PEERCRED, credentials.size)
    pid, uid, gid = credentials.unpack(writer.get_extra_info("socket").getsockopt(*wanted))
    return f"client pid {pid} uid {uid} gid {gid}"
