"""The instruments' side of the wire: turns forces and masses into the bytes of real instruments.

The shapes are common practice, described in firmware-notes.
"""

from enum import StrEnum

from ramphold.sim._shapes import LOAD_SHAPES, MASS_QUERIES, MASS_SHAPES, Showing, Shown
from ramphold.wire import LineSplitter

_END = b"\r\n"


class LineFault(StrEnum):
    """A fault of one line."""

    GARBAGE = "garbage"
    CUT = "cut"
    OVERLOAD = "overload"
    SILENCE = "silence"


class LoadTalker:
    """A load indicator that sends a line for each conversion, in lbf.

    Args:
        shape: one of `LOAD_SHAPES`.
        resolution_lbf: step of its display in lbf: 1, 2 or 5 times a power of ten.
        capacity_lbf: force in lbf over which it shows overload.
    """

    def __init__(
        self,
        *,
        shape: str = "state-comma",
        resolution_lbf: float = 0.1,
        capacity_lbf: float = 50_000.0,
    ) -> None:
        self._shape = LOAD_SHAPES[shape]
        self._resolution_lbf = resolution_lbf
        self._places = _places(resolution_lbf)
        self._capacity_lbf = capacity_lbf
        self._last_lbf = 0.0

    def line(self, force_lbf: float, fault: LineFault | None = None) -> bytes:
        """The bytes of a line for a force in lbf, with a fault.

        The line shows a moving load if the force changed by more than three steps.
        """
        moved_lbf, self._last_lbf = abs(force_lbf - self._last_lbf), force_lbf
        if fault is LineFault.SILENCE:
            return b""
        if fault is LineFault.GARBAGE:
            return b"\xfe\x00\x8d\xd3\xd4,\xc7" + _END
        if fault is LineFault.OVERLOAD or force_lbf > self._capacity_lbf:
            state = Showing.OVER
        elif force_lbf < -self._capacity_lbf:
            state = Showing.UNDER
        else:
            moving = moved_lbf > 3 * self._resolution_lbf
            state = Showing.MOVING if moving else Showing.REST
        shown_lbf = round(force_lbf / self._resolution_lbf) * self._resolution_lbf
        shown = Shown(state=state, value=shown_lbf, places=self._places, unit="lbf")
        line = self._shape(shown).encode()
        return line[:12] if fault is LineFault.CUT else line


class BalanceTalker:
    """A balance that answers queries and has a print key.

    Args:
        reply: the shape of its answers, one of `MASS_SHAPES`.
        print_out: the shape of its unasked lines, at the print key or not.
        capacity_g: mass in g over which it shows overload.
        places: digits after the point, in g.
    """

    def __init__(
        self,
        *,
        reply: str = "reply-state",
        print_out: str = "state-comma",
        capacity_g: float = 220.0,
        places: int = 3,
    ) -> None:
        self._reply = MASS_SHAPES[reply]
        self._query = MASS_QUERIES.get(reply)
        self._when_stable = b"S" if reply == "reply-state" else None
        self._print_out = MASS_SHAPES[print_out]
        self._capacity_g = capacity_g
        self._places = places
        #: What is on its pan.
        self.mass_g = 0.0
        self._stable = True
        self._heard = LineSplitter()

    @property
    def overloaded(self) -> bool:
        """Whether more is on it than it can weigh."""
        return self.mass_g > self._capacity_g

    def put(self, mass_g: float, *, stable: bool = True) -> None:
        """Put a mass in g on the pan, at rest or still moving."""
        self.mass_g = round(mass_g, self._places) + 0.0  # avoids "-0.000"
        self._stable = stable

    def feed(self, data: bytes) -> bytes:
        """The answers to the queries that `data` completes; other commands get none."""
        return b"".join(self._answer(line.data) for line in self._heard.feed(data))

    def print_key(self) -> bytes:
        """The line of the print key."""
        return self._print_out(self._shown()).encode()

    def _answer(self, query: bytes) -> bytes:
        shown = self._shown()
        if query == self._when_stable and shown.state is Showing.MOVING:
            return b"S I" + _END
        return self._reply(shown).encode() if query in (self._query, self._when_stable) else b""

    def _shown(self) -> Shown:
        state = Showing.REST if self._stable else Showing.MOVING
        if self.overloaded:
            state = Showing.OVER
        return Shown(state=state, value=self.mass_g, places=self._places, unit="g")


def _places(step: float) -> int:
    """Digits after the point of a display with this step."""
    _, _, fraction = f"{step:.6f}".rstrip("0").partition(".")
    return len(fraction)
