"""The thread of an instrument: opens its port, reads, decodes, stamps, hands over, opens again."""

import logging
import threading
from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from ramphold.clock import NS_PER_S, Clock
from ramphold.errors import PortError
from ramphold.instruments._instrument import Health, HealthState
from ramphold.instruments._port import Port
from ramphold.wire import LINE_LIMIT

__all__ = ["Decoder", "Reader"]

_FIRST_WAIT_S = 0.2
_LONGEST_WAIT_S = 2.0
# A serial port lets go at once; a network port needs up to half a second.
_STOP_WAIT_S = 1.0

_log = logging.getLogger(__name__)

F = TypeVar("F")

_SILENT_QUERIES = 4


class Decoder(Protocol[F]):
    """Bytes in, frames out, however the bytes are cut; never raises."""

    def feed(self, data: bytes) -> list[F]:
        """The frames that `data` completes."""


class Reader(Generic[F]):
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
        self._name = name
        self._open_port = open_port
        self._make_decoder = make_decoder
        self._clock = clock
        self._on_frame = on_frame
        self._on_health = on_health
        self._silent_ns = None if silent_s is None else round(silent_s * NS_PER_S)
        self._query = query
        self._query_every_ns = round(query_every_s * NS_PER_S)
        self._stop = threading.Event()
        self._lock = threading.Lock()  # around the port: `stop` cancels what the thread may close
        self._port: Port | None = None
        self._wait_s = _FIRST_WAIT_S
        self._health = Health(
            name=name,
            state=HealthState.OPENING,
            detail="opening its port",
            since_ns=clock.now_ns(),
        )
        self._thread = threading.Thread(target=self._run, name=f"instrument {name}", daemon=True)

    @property
    def name(self) -> str:
        """What the configuration calls it."""
        return self._name

    @property
    def health(self) -> Health:
        """How it is now."""
        return self._health

    def start(self) -> None:
        """Begin to read."""
        self._thread.start()

    def stop(self) -> None:
        """End reading and give the port back."""
        self._stop.set()
        with self._lock:
            if self._port is not None:
                self._port.cancel()
        if self._thread.is_alive():
            self._thread.join(_STOP_WAIT_S)
        if self._thread.is_alive():
            # A network port may spend seconds in connecting; the thread ends after it.
            _log.warning("%s: its port did not let go in %g s", self._name, _STOP_WAIT_S)

    def _run(self) -> None:
        self._on_health(self._health)
        while not self._stop.is_set():
            try:
                self._session()
            except PortError as error:
                self._report(HealthState.MISSING, str(error))
            except Exception:  # noqa: BLE001  (a bug must not end the readings)
                _log.exception("%s: a bug ended its session", self._name)
                self._report(HealthState.MISSING, "stopped by a bug: see the log")
            self._stop.wait(self._wait_s)
            self._wait_s = min(2 * self._wait_s, _LONGEST_WAIT_S)

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
                self._wait_s = _FIRST_WAIT_S
                self._report(HealthState.OPEN, "ok")
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

    def _report(self, state: HealthState, detail: str) -> None:
        was = self._health
        if (state, detail) == (was.state, was.detail):
            return
        since_ns = was.since_ns if state is was.state else self._clock.now_ns()
        self._health = Health(name=self._name, state=state, detail=detail, since_ns=since_ns)
        self._on_health(self._health)
