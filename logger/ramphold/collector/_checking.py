"""What messages come to, found out in a process of its own.

To unpack a run takes as long as to get it through the line and into the archive; in one process
they would wait for each other.
"""

import asyncio
import logging
import multiprocessing
import signal
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from multiprocessing.connection import Connection

from ramphold.collector._arrivals import Arrival
from ramphold.collector._ingest import ingest

__all__ = ["Checker"]

_log = logging.getLogger("ramphold.collector")

Sent = Sequence[tuple[str, bytes]]


class Checker:
    """A process that takes messages, topic and payload each, in the order they are given."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="checking")
        self._pipe: Connection | None = None

    def start(self) -> None:
        """Have the process there before the first message is."""
        self._pool.submit(self._opened)

    def check(self, sent: Sent) -> asyncio.Future[list[Arrival]]:
        """What each message comes to, in time."""
        return asyncio.get_running_loop().run_in_executor(self._pool, self._checked, sent)

    async def aclose(self) -> None:
        """End the process, after the work already given."""
        await asyncio.get_running_loop().run_in_executor(self._pool, self._close)
        self._pool.shutdown()

    def _checked(self, sent: Sent) -> list[Arrival]:
        try:
            pipe = self._opened()
            pipe.send(sent)
            arrivals: list[Arrival] = pipe.recv()
        except (OSError, EOFError) as error:
            _log.warning("the process that checks messages is gone, and started anew: %r", error)
            self._close()
            return _ingested(sent)
        return arrivals

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
    # What ends the collector closes the pipe, however it ended.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    while True:
        try:
            sent = pipe.recv()
        except EOFError:
            return
        pipe.send(_ingested(sent))


def _ingested(sent: Sent) -> list[Arrival]:
    return [ingest(topic, payload) for topic, payload in sent]
