"""A process that checks messages, since unpacking a run takes as long as everything else.

Python runs one thread at a time, so in one process checking and filing would wait for each other.
"""

import asyncio
import logging
import multiprocessing
import signal
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection
from typing import TypeAlias

from ramphold.collector._message_check import CheckedMessage, check_message

_log = logging.getLogger("ramphold.collector")

#: Topic and payload of each message.
_Messages: TypeAlias = Sequence[tuple[str, bytes]]


class CheckProcess:
    """Checks batches of messages in the order they are given."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="checking")
        self._pipe: Connection | None = None

    def start(self) -> None:
        """Start the process before the first message arrives."""
        self._pool.submit(self._opened)

    def check(self, messages: _Messages) -> asyncio.Future[list[CheckedMessage]]:
        """Check messages, each with its topic and payload."""
        return asyncio.get_running_loop().run_in_executor(self._pool, self._checked, messages)

    async def aclose(self) -> None:
        """End the process after the work already given to it."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._close)
        self._pool.shutdown()

    def _checked(self, messages: _Messages) -> list[CheckedMessage]:
        try:
            pipe = self._opened()
            pipe.send(messages)
            checked: list[CheckedMessage] = pipe.recv()
        except (OSError, EOFError) as error:
            _log.warning("the process that checks messages is gone and is restarted: %r", error)
            self._close()
            return _check_all(messages)
        return checked

    def _opened(self) -> Connection:
        if self._pipe is None:
            # Not forked: this process has threads.
            context = multiprocessing.get_context("spawn")
            ours, theirs = context.Pipe()
            process = context.Process(target=_serve, args=(theirs,), daemon=True)
            process.start()
            theirs.close()
            self._pipe, self._process = ours, process
        return self._pipe

    def _close(self) -> None:
        if self._pipe is not None:
            self._pipe.close()
            self._pipe = None
            self._process.join()


def _serve(pipe: Connection) -> None:
    # Whatever ends the collector closes the pipe, and the pipe ends this process.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            messages = pipe.recv()
        except EOFError:
            return
        pipe.send(_check_all(messages))


def _check_all(messages: _Messages) -> list[CheckedMessage]:
    return [check_message(topic, payload) for topic, payload in messages]
