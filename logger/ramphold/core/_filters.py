"""What the pacing sees of the load: freed of spikes, each value with the time it belongs to.

Raw readings stay untouched; the tracker judges a run on its own median of three.
"""

import math
from collections import deque

from ramphold.core._bounds import at_least

_NS_PER_S = 1_000_000_000

#: Twice what the fastest full stroke does; a faster change is a spike, or the valve.
_FASTEST_PSI_S = 4000.0
_NOISE_PSI = 20.0
#: No squeeze is faster, in shares of the target a second, and no slip of a lever larger.
_SQUEEZE_PER_S, _SQUEEZE_SLACK = 0.1, 0.006
#: A level that this many readings agree on is real, however it was reached.
_CONVINCING = 3
#: Readings closer than this carry more noise each, and a median of five costs less time.
_CLOSE_NS = 50_000_000
_WIDE, _NARROW = 5, 3
#: After a gap this long what went before says nothing of now.
_GAP_NS = 1_000_000_000
#: Readings that come so close after a gap so long were kept waiting in it by a busy computer.
_AT_ONCE_NS, _KEPT_WAITING_NS = 8_000_000, 150_000_000
#: By then all of them have come: a fast instrument's readings are as close at any time.
BURST_NS = 40_000_000
_LEAST_SPREAD = 1e-9


def reach_psi(elapsed_s: float) -> float:
    """How far apart two readings of a press can lie that are `elapsed_s` apart, in psi."""
    return _FASTEST_PSI_S * elapsed_s + _NOISE_PSI


class JumpGate:
    """Holds back readings that jump faster than a press can, until three in a row agree.

    A median of three lets a spike of two readings through; this does not, and a level that has
    really been reached comes two readings late. Readings that were kept waiting and come at once
    may lie as far apart as the time they waited allows.
    """

    def __init__(self) -> None:
        self._believed: tuple[int, float] | None = None
        self._doubted: tuple[int, float] | None = None
        self._doubts = 0
        self._last_ns: int | None = None
        self._gap_ns = self._after_gap_ns = 0
        #: Whether the load has come to stay, as of this reading, where no press could take it.
        self.jumped = False
        self._jump: tuple[float, float] | None = None
        self._stayed = 0

    def feed(self, t_ns: int, stress_psi: float) -> bool:
        """Take a raw stress in psi; whether it can be believed."""
        waited_ns, before = self._waited_ns(t_ns), self._believed
        jumps = before is not None and _jumps(before, t_ns + waited_ns, stress_psi)
        self.jumped = False
        if jumps or self._jump is not None:
            self._watch(stress_psi)
        if jumps:
            doubted = self._doubted
            agrees = doubted is not None and not _jumps(doubted, t_ns + waited_ns, stress_psi)
            self._doubts = self._doubts + 1 if agrees else 1
            self._doubted = t_ns, stress_psi
            if self._doubts < _CONVINCING:
                return False
        self._believed, self._doubted, self._doubts = (t_ns, stress_psi), None, 0
        return True

    def _waited_ns(self, t_ns: int) -> int:
        """How long a reading may have been kept waiting, if it comes at once with the last."""
        since_ns = 0 if self._last_ns is None else t_ns - self._last_ns
        self._last_ns = t_ns
        if since_ns >= _AT_ONCE_NS:
            self._gap_ns, self._after_gap_ns = since_ns, t_ns
            return 0
        if self._gap_ns <= _KEPT_WAITING_NS or t_ns - self._after_gap_ns > BURST_NS:
            return 0
        return min(self._gap_ns, _GAP_NS)

    def _watch(self, stress_psi: float) -> None:
        """Tell a jump: three readings in a row nearer to where it led than to where it began."""
        if self._jump is None:
            if self._believed is not None:
                self._jump, self._stayed = (self._believed[1], stress_psi), 1
            return
        was_psi, came_psi = self._jump
        if stress_psi + _NOISE_PSI < came_psi < was_psi:
            # It falls on: a valve was thrown open.
            self._jump, self._stayed = (was_psi, stress_psi), 1
            return
        if abs(stress_psi - came_psi) >= abs(stress_psi - was_psi):
            self._jump = None
            return
        self._stayed += 1
        if self._stayed >= _CONVINCING:
            self.jumped, self._jump = True, None


class SlowGate:
    """Holds back what jumps faster than a squeeze can, until three in a row lie to that side.

    A pair of false readings gets through a median of three however small it is; this keeps it
    out where nobody strokes. A stroke, or a valve thrown open, comes two readings late.

    Args:
        target_psi: the pace of a squeeze, and what of a jump matters, go by the target.
    """

    def __init__(self, target_psi: float) -> None:
        self._fastest_psi_s = _SQUEEZE_PER_S * target_psi
        self._slack_psi = _SQUEEZE_SLACK * target_psi
        self._believed: tuple[int, float] | None = None
        self._doubts = 0
        #: Whether what was doubted just before has turned out to be real.
        self.convinced = False

    def feed(self, t_ns: int, stress_psi: float) -> bool:
        """Take a stress in psi; whether it can be believed."""
        self.convinced = False
        if self._believed is not None:
            believed_ns, believed_psi = self._believed
            elapsed_s = at_least(t_ns - believed_ns, 0) / _NS_PER_S
            off_psi = stress_psi - believed_psi
            # After a gap nothing is known that a reading could be held against.
            gap = elapsed_s * _NS_PER_S > _GAP_NS
            if not gap and abs(off_psi) > self._fastest_psi_s * elapsed_s + self._slack_psi:
                side = 1 if off_psi > 0 else -1
                self._doubts = self._doubts + side if self._doubts * side > 0 else side
                if abs(self._doubts) < _CONVINCING:
                    return False
                self.convinced = True
        self._believed, self._doubts = (t_ns, stress_psi), 0
        return True


def _jumps(before: tuple[int, float], t_ns: int, stress_psi: float) -> bool:
    before_ns, before_psi = before
    elapsed_s = at_least(t_ns - before_ns, 0) / _NS_PER_S
    return abs(stress_psi - before_psi) > reach_psi(elapsed_s)


class SteadyMedian:
    """Causal median of three readings, or of five where they come closer than 50 ms.

    The value belongs to the middle of its readings: it lags by one reading period (100 ms at 10
    readings/s) or two (25 ms at 80/s), and says so by its time.
    """

    def __init__(self) -> None:
        self._times_ns: list[int] = []
        self._values_psi: list[float] = []
        #: Usual time between two readings; 0 where it is not known.
        self.period_ns = 0

    def feed(self, t_ns: int, stress_psi: float) -> tuple[int, float] | None:
        """Take a stress that can be believed; the median with its own time, once there is one."""
        times_ns, values_psi = self._times_ns, self._values_psi
        since_ns = t_ns - times_ns[-1] if times_ns else _GAP_NS
        if since_ns > at_least(_GAP_NS, 5 * self.period_ns // 2):
            times_ns.clear()
            values_psi.clear()
        times_ns.append(t_ns)
        values_psi.append(stress_psi)
        width = _WIDE if since_ns < _CLOSE_NS else _NARROW
        if len(times_ns) > width:
            del times_ns[:-width], values_psi[:-width]
        count = len(times_ns)
        if count < _NARROW:
            return None
        # Of an even number the oldest is left out.
        ranked = sorted(values_psi[1 - count % 2 :])
        return times_ns[count // 2], ranked[len(ranked) // 2]


class SteadyLoad:
    """The same behind a gate, of raw readings."""

    def __init__(self) -> None:
        self._gate = JumpGate()
        self._median = SteadyMedian()

    def feed(self, t_ns: int, stress_psi: float) -> tuple[int, float] | None:
        """Take a raw stress; the steadied one with its own time, None where there is none."""
        return self._median.feed(t_ns, stress_psi) if self._gate.feed(t_ns, stress_psi) else None


class Slope:
    """Rate of change by least squares over the last `window_s` seconds, with running sums.

    Right on stepped data in the mean, since every value in the window counts; after a change of
    rate it is half way there in about half the window.
    """

    def __init__(self, window_s: float) -> None:
        self._window_ns = round(window_s * _NS_PER_S)
        self._points: deque[tuple[int, float, float]] = deque()
        self._origin_ns: int | None = None
        self._t = self._x = self._tt = self._tx = 0.0

    def widen(self, window_s: float) -> None:
        """Take the slope over another time from now on."""
        self._window_ns = round(window_s * _NS_PER_S)

    def feed(self, t_ns: int, stress_psi: float) -> float | None:
        """Take a value; the slope in psi/s, or None before the window is half filled."""
        if self._origin_ns is None:
            self._origin_ns = t_ns
        points, t_s = self._points, (t_ns - self._origin_ns) / _NS_PER_S
        points.append((t_ns, t_s, stress_psi))
        t, x = self._t + t_s, self._x + stress_psi
        tt, tx = self._tt + t_s * t_s, self._tx + t_s * stress_psi
        since_ns = t_ns - self._window_ns
        while points[0][0] < since_ns:
            _, old_s, old_psi = points.popleft()
            t, x = t - old_s, x - old_psi
            tt, tx = tt - old_s * old_s, tx - old_s * old_psi
        self._t, self._x, self._tt, self._tx = t, x, tt, tx
        count = len(points)
        spread = count * tt - t * t
        if 2 * (t_ns - points[0][0]) < self._window_ns or spread <= 0:
            return None
        return (count * tx - t * x) / spread

    @property
    def noise_factor(self) -> float:
        """Standard deviation of the slope for each of the values' own, in 1/s."""
        n = len(self._points)
        spread = self._tt - self._t * self._t / n if n else 0.0
        return 1 / math.sqrt(spread) if spread > _LEAST_SPREAD else 0.0
