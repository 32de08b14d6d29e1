"""The thread of an instrument: opens its port, reads, decodes, stamps, hands over, opens again."""

import threading
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.instruments._instrument import Health, HealthState
from ramphold.instruments._port import Port
from ramphold.instruments._thread import InstrumentThread
from ramphold.wire import LINE_LIMIT

__all__ = ["Decoder", "Reader"]

F = TypeVar("F")

_SILENT_QUERIES = 4


class Decoder(Protocol[F]):
    """Bytes in, frames out, however the bytes are cut; never raises."""

    def feed(self, data: bytes) -> list[F]:
        """The frames that `data` completes."""


class Reader(InstrumentThread, Generic[F]):
    """An instrument on a port, as `Instrument` describes it.

    Args:
        name: what the configuration calls it.
        open_port: opens its port; raises PortError.
        make_decoder: gives a decoder that has seen no byte yet.
        clock: stamps what comes; also tells when it is silent and when to ask.
        on_frame: takes the time of arrival in ns and a frame.
        on_health: takes the health, when it changes.
        silent_s: time in s without a frame after which it counts as silent; None is never. One
            that is asked must also have left four queries in a row unanswered, since a clock may
            run faster than life.
        query: bytes that ask for a frame; None where it speaks unasked.
        query_every_s: time in s between two queries.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        name: str,
        *,
        open_port: Callable[[], Port],
        make_decoder: Callable[[], Decoder[F]],
        clock: Clock,
        on_frame: Callable[[int, F], None],
        on_health: Callable[[Health], None],
        silent_s: float | None,
        query: bytes | None = None,
        query_every_s: float = 0.5,
    ) -> None:
        super().__init__(name, clock, on_health)
        self._open_port = open_port
        self._make_decoder = make_decoder
        self._on_frame = on_frame
        self._silent_ns = None if silent_s is None else round(silent_s * NS_PER_S)
        self._query = query
        self._query_every_ns = round(query_every_s * NS_PER_S)
        self._lock = threading.Lock()  # around the port: `stop` cancels what the thread may close
        self._port: Port | None = None

    def _let_go(self) -> None:
        with self._lock:
            if self._port is not None:
                self._port.cancel()

    def _session(self) -> None:
        """Read from the opening of the port to its end, or to `stop`."""
        port = self._open_port()
        with self._lock:
            self._port = port
        try:
            self._report(HealthState.OPEN, "ok")
            self._listen(port)
        finally:
            with self._lock:
                self._port = None
            port.close()

    def _listen(self, port: Port) -> None:
        decoder = self._make_decoder()
        heard_ns = ask_ns = self._clock.now_ns()
        unread = unanswered = 0  # bytes and queries since the last frame
        while not self._stop.is_set():
            if self._query is not None and self._clock.now_ns() >= ask_ns:
                ask_ns = self._clock.now_ns() + self._query_every_ns
                port.write(self._query)
                unanswered += 1
            data = port.read()
            now_ns = self._clock.now_ns()
            frames = decoder.feed(data)
            unread += len(data)
            if frames:
                heard_ns, unread, unanswered = now_ns, 0, 0
                self._heard()
            elif self._is_silent(now_ns - heard_ns, unanswered):
                self._report(HealthState.SILENT, self._silence(unread))
            for frame in frames:
                self._on_frame(now_ns, frame)

    def _is_silent(self, unheard_ns: int, unanswered: int) -> bool:
        if self._silent_ns is None or unheard_ns < self._silent_ns:
            return False
        return self._query is None or unanswered >= _SILENT_QUERIES

    def _silence(self, unread: int) -> str:
        if unread > LINE_LIMIT:
            return "bytes come, but no line: check baud and framing"
        if self._query is not None:
            return "does not answer: check that it is on, the cable, and its settings"
        return "sends nothing: check that it is on, the cable, and that it sends by itself"
