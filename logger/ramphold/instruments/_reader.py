"""An instrument on a port: opens it, reads, decodes and stamps, and opens it again."""

import threading
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from ramphold.clock import NS_PER_S
from ramphold.errors import PortError
from ramphold.instruments._flow import Flow
from ramphold.instruments._instrument import HealthState, Instrument, InstrumentSetup
from ramphold.instruments._port import Port
from ramphold.wire import LINE_LIMIT, seven_bit_framing

_SILENT_QUERIES = 4
_FLOOD = "sends faster than any instrument: lines are late or lost; set it to send less often"


class DecodedFrame(Protocol):
    """What a decoder makes of bytes."""

    @property
    def readable(self) -> bool:
        """Whether the bytes had the expected shape."""


F = TypeVar("F", bound=DecodedFrame)
R = TypeVar("R")


class Decoder(Protocol[F]):
    """Makes frames of bytes, however the bytes are split; never raises."""

    def feed(self, data: bytes) -> list[F]:
        """The frames that `data` completes."""


class Reader(Instrument[R], Generic[R, F]):
    """An instrument on a port.

    Args:
        setup: its name, clock and callbacks.
        open_port: opens its port; raises PortError.
        make_decoder: makes a decoder that has seen no byte yet.
        to_reading: makes a reading of the time of arrival in ns and a frame.
        silent_s: time in s without a readable frame after which it counts as silent, or as
            unreadable if others came; None: never. An instrument that is asked must also have left
            four queries in a row unanswered, because a clock may run faster than real time.
        query: bytes that ask for a frame; None if it sends unasked.
        query_every_s: time in s between two queries.
    """

    def __init__(  # noqa: PLR0913  (each is a fact of its own)
        self,
        setup: InstrumentSetup[R],
        *,
        open_port: Callable[[], Port],
        make_decoder: Callable[[], Decoder[F]],
        to_reading: Callable[[int, F], R],
        silent_s: float | None,
        query: bytes | None = None,
        query_every_s: float = 0.5,
    ) -> None:
        super().__init__(setup)
        self._open_port = open_port
        self._make_decoder = make_decoder
        self._to_reading = to_reading
        self._silent_ns = None if silent_s is None else round(silent_s * NS_PER_S)
        self._query = query
        self._query_every_ns = round(query_every_s * NS_PER_S)
        self._lock = threading.Lock()  # around the port: `stop` cancels what the thread may close
        self._port: Port | None = None

    def _interrupt(self) -> None:
        with self._lock:
            if self._port is not None:
                self._port.cancel()

    def _session(self) -> None:
        port = self._open_port()
        with self._lock:
            self._port = port
        try:
            self._report(HealthState.OPEN, "ok")
            self._listen(port)
        except PortError as error:
            # Reported first: closing a network port may take a third of a second.
            self._report(HealthState.MISSING, str(error))
            raise
        finally:
            with self._lock:
                self._port = None
            port.close()

    def _listen(self, port: Port) -> None:
        decoder = self._make_decoder()
        heard_ns = ask_ns = self._clock.now_ns()
        unanswered = 0  # queries since the last readable frame
        unread, flow = _Unread(), Flow(heard_ns)
        while self._goes_on():
            if self._query is not None and self._clock.now_ns() >= ask_ns:
                ask_ns = self._clock.now_ns() + self._query_every_ns
                port.write(self._query)
                unanswered += 1
            data = port.read()
            now_ns = self._clock.now_ns()
            frames = decoder.feed(data)
            unread.take(data, len(frames))
            wait_s = flow.take(now_ns, len(data), len(frames))
            readable = any(frame.readable for frame in frames)
            if wait_s:
                self._report(HealthState.FLOODING, _FLOOD)
            elif readable:
                self._heard()
            elif self._is_overdue(now_ns - heard_ns, unanswered) or (frames and self._keyed):
                self._report(*self._trouble(unread))
            if readable:
                heard_ns, unanswered, unread = now_ns, 0, _Unread()
            for frame in frames:
                self._on_reading(self._to_reading(now_ns, frame))
            if wait_s:
                self._stop.wait(wait_s)

    @property
    def _keyed(self) -> bool:
        return self._silent_ns is None

    def _is_overdue(self, unheard_ns: int, unanswered: int) -> bool:
        if self._silent_ns is None or unheard_ns < self._silent_ns:
            return False
        return self._query is None or unanswered >= _SILENT_QUERIES

    def _trouble(self, unread: "_Unread") -> tuple[HealthState, str]:
        if (detail := unread.detail) is not None:
            return HealthState.UNREADABLE, detail
        if self._query is not None:
            detail = "does not answer: check that it is on, the cable, and its settings"
        else:
            detail = "sends nothing: check that it is on, the cable, and that it sends by itself"
        return HealthState.SILENT, detail


class _Unread:
    """The bytes since the last readable frame."""

    def __init__(self) -> None:
        self._bytes = self._frames = 0
        self._newest = b""

    def take(self, data: bytes, frames: int) -> None:
        """Count bytes, and the frames made of them."""
        self._bytes += len(data)
        self._frames += frames
        self._newest = (self._newest + data)[-LINE_LIMIT:]

    @property
    def detail(self) -> str | None:
        """What is wrong with them; None if too few came to tell."""
        if not self._frames and self._bytes <= LINE_LIMIT:
            return None
        if framing := seven_bit_framing(self._newest):
            return f"bytes have bit 7 set: framing looks like {framing}"
        if self._bytes > LINE_LIMIT * max(self._frames, 1):
            return "bytes come, but no line: check baud and framing"
        return "lines come, but of another shape: check profile, baud and framing"
