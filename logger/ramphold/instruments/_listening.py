"""Listens to a port at one rate after the other until its bytes are those of an instrument."""

from collections.abc import Callable
from dataclasses import dataclass

from ramphold.clock import NS_PER_S, Clock
from ramphold.instruments._port import PortSettings
from ramphold.instruments._serial_port import SerialPort
from ramphold.wire import MASS_PROFILES, InstrumentKind, LineShape, recognise

#: The most common first (common practice, no source).
RATES = (9600, 19_200, 4800, 2400, 1200, 115_200, 57_600, 38_400)
_FRAMINGS = ("8N1", "7E1", "7O1")
# Slow instruments send a line a second.
_LISTEN_S, _MOST_S, _ANSWER_S = 1.2, 4.0, 0.4


@dataclass(frozen=True, slots=True, kw_only=True)
class PortHeard:
    """What came from a port.

    Attributes:
        settings: rate and framing at which it was understood, else those of the last trial.
        shapes: what its lines may be; empty if they are none of an instrument.
        data: the bytes.
        query: what it was asked by; empty if it sent unasked.
        lines_per_s: lines a second that came unasked.
    """

    settings: PortSettings
    shapes: tuple[LineShape, ...] = ()
    data: bytes = b""
    query: bytes = b""
    lines_per_s: float = 0.0

    def of_kind(self, kind: InstrumentKind) -> tuple[LineShape, ...]:
        """The shapes that an instrument of that kind may have."""
        return tuple(one for one in self.shapes if one.kind == kind)


def listen(port: str, clock: Clock, say: Callable[[str], object] = lambda _: None) -> PortHeard:
    """Listen to a port, and ask it if it says nothing.

    Args:
        port: device or URL.
        clock: the time.
        say: told what is tried, a line each.

    Raises:
        PortError: it can't be opened, or goes away.
    """
    first: PortHeard | None = None
    for baud in RATES if "://" not in port else RATES[:1]:
        heard = _unasked(PortSettings(port=port, baud=baud), clock)
        if heard.shapes:
            return heard
        first = first or heard
        if not heard.data:
            # At a wrong rate there would be garbage, and not silence.
            say("nothing comes unasked; it is asked by the queries of balances")
            return _asked(port, clock) or heard
        say(f"{baud} baud: {heard.data[:24]!r} is of no known shape")
    return first or PortHeard(settings=PortSettings(port=port))


def collect(settings: PortSettings, clock: Clock, seconds: float, query: bytes = b"") -> bytes:
    """The bytes that a port sends in a time in s, after a query if there is one.

    Raises:
        PortError: it can't be opened, or goes away.
    """
    port = SerialPort(settings)
    try:
        port.read()  # what came before the port was opened
        if query:
            port.write(query)
        return _bytes(port, clock, seconds)
    finally:
        port.close()


def _unasked(settings: PortSettings, clock: Clock) -> PortHeard:
    port = SerialPort(settings)
    try:
        data, took_s = b"", 0.0
        while took_s < _MOST_S:
            data += _bytes(port, clock, _LISTEN_S)
            took_s += _LISTEN_S
            shapes = recognise(data)
            if shapes or not data:
                break
    finally:
        port.close()
    if shapes and shapes[0].framing != settings.framing:
        settings = PortSettings(port=settings.port, baud=settings.baud, framing=shapes[0].framing)
    lines = shapes[0].values if shapes else 0
    return PortHeard(settings=settings, shapes=shapes, data=data, lines_per_s=lines / took_s)


def _asked(port: str, clock: Clock) -> PortHeard | None:
    queries = dict.fromkeys(one.query for one in MASS_PROFILES.values() if one.query)
    for baud in RATES[:5]:
        for framing in _FRAMINGS:
            settings = PortSettings(port=port, baud=baud, framing=framing)
            for query in queries:
                data = collect(settings, clock, _ANSWER_S, query)
                shapes = tuple(
                    one
                    for one in recognise(data, least=1)
                    if one.kind == "balance" and MASS_PROFILES[one.profile].query == query
                )
                if shapes:
                    return PortHeard(settings=settings, shapes=shapes, data=data, query=query)
    return None


def _bytes(port: SerialPort, clock: Clock, seconds: float) -> bytes:
    data, end_ns = b"", clock.now_ns() + round(seconds * NS_PER_S)
    while clock.now_ns() < end_ns:
        data += port.read()
    return data
