"""The instruments' side of the wire: forces and masses become the bytes a real one would send.

Shapes are common practice; they are told in firmware-notes.
"""

from enum import StrEnum

from ramphold.wire import LineSplitter

__all__ = ["BalanceTalker", "Fault", "LoadTalker"]

_END = b"\r\n"


class Fault(StrEnum):
    """What can go wrong with one line."""

    GARBAGE = "garbage"
    CUT = "cut"
    OVERLOAD = "overload"
    SILENCE = "silence"


class LoadTalker:
    """A load indicator that sends a line for each conversion, in lbf.

    Args:
        resolution_lbf: step of its display in lbf: 1, 2 or 5 times a power of ten.
        capacity_lbf: force in lbf over which it shows overload.
    """

    def __init__(self, *, resolution_lbf: float = 0.1, capacity_lbf: float = 50_000.0) -> None:
        self._resolution_lbf = resolution_lbf
        self._places = _places(resolution_lbf)
        self._capacity_lbf = capacity_lbf
        self._last_lbf = 0.0

    def line(self, force_lbf: float, fault: Fault | None = None) -> bytes:
        """The bytes of one line for a force in lbf, or what the fault makes of them.

        The line says that the load moves where it went more than three steps since the last one.
        """
        moved_lbf, self._last_lbf = abs(force_lbf - self._last_lbf), force_lbf
        if fault is Fault.SILENCE:
            return b""
        if fault is Fault.GARBAGE:
            return b"\xfe\x00\x8d\xd3\xd4,\xc7" + _END
        if fault is Fault.OVERLOAD or force_lbf > self._capacity_lbf:
            return b"OL,GS,  -------- lbf" + _END
        if force_lbf < -self._capacity_lbf:
            return b"UL,GS,  -------- lbf" + _END
        steps = round(force_lbf / self._resolution_lbf)
        state = "US" if moved_lbf > 3 * self._resolution_lbf else "ST"
        sign = "-" if steps < 0 else "+"
        shown = f"{abs(steps) * self._resolution_lbf:08.{self._places}f}"
        line = f"{state},GS,{sign} {shown} lbf".encode()
        return line[:12] if fault is Fault.CUT else line + _END


class BalanceTalker:
    """A balance that answers queries and has a print key.

    Args:
        capacity_g: mass in g over which it shows overload.
        places: digits after the point, in g.
    """

    def __init__(self, *, capacity_g: float = 220.0, places: int = 3) -> None:
        self._capacity_g = capacity_g
        self._places = places
        self._mass_g = 0.0
        self._stable = True
        self._heard = LineSplitter()

    def put(self, mass_g: float, *, stable: bool = True) -> None:
        """Let a mass in g stand on the pan, at rest or still moving."""
        self._mass_g = round(mass_g, self._places) + 0.0  # no "-0.000" is shown
        self._stable = stable

    def feed(self, data: bytes) -> bytes:
        """The answers to the queries that `data` completes; it leaves other commands unanswered."""
        queries = [line.data for line in self._heard.feed(data)]
        return b"".join(self._answer(query) for query in queries if query in (b"S", b"SI"))

    def print_key(self) -> bytes:
        """The line that its print key sends."""
        if self._overloaded():
            return b"OL,+99999.999  g" + _END
        state = "ST" if self._stable else "US"
        return f"{state},{self._mass_g:+0{7 + self._places}.{self._places}f}  g".encode() + _END

    def _answer(self, query: bytes) -> bytes:
        if self._overloaded():
            return b"S +" + _END
        if query == b"S" and not self._stable:
            return b"S I" + _END
        state = "S" if self._stable else "D"
        return f"S {state} {self._mass_g:10.{self._places}f} g".encode() + _END

    def _overloaded(self) -> bool:
        return self._mass_g > self._capacity_g


def _places(step: float) -> int:
    """Digits after the point that a display with this step needs."""
    _, _, fraction = f"{step:.6f}".rstrip("0").partition(".")
    return len(fraction)
