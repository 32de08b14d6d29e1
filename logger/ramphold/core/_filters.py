"""What the pacing sees of the load: freed of spikes, each value with the time it belongs to.

Raw readings stay untouched; the tracker judges a run on its own median of three.
"""

from collections import deque

__all__ = ["JumpGate", "Slope", "SteadyLoad", "reach_psi"]

_NS_PER_S = 1_000_000_000

#: Twice what the fastest full stroke does; a faster change is a spike, or the valve.
_FASTEST_PSI_S = 4000.0
_NOISE_PSI = 20.0
#: A level that this many readings agree on is real, however it was reached.
_CONVINCING = 3
#: Readings closer than this carry more noise each, and a median of five costs less time.
_CLOSE_NS = 50_000_000
_WIDE, _NARROW = 5, 3
#: After a gap this long what went before says nothing of now.
_GAP_NS = 1_000_000_000


def reach_psi(elapsed_s: float) -> float:
    """How far apart two readings of a press can lie that are `elapsed_s` apart, in psi."""
    return _FASTEST_PSI_S * elapsed_s + _NOISE_PSI


class JumpGate:
    """Holds back readings that jump faster than a press can, until three in a row agree.

    A median of three lets a spike of two readings through; this does not, and a level that has
    really been reached comes two readings late.
    """

    def __init__(self) -> None:
        self._believed: tuple[int, float] | None = None
        self._doubted: tuple[int, float] | None = None
        self._doubts = 0

    def feed(self, t_ns: int, stress_psi: float) -> bool:
        """Take a raw stress in psi; whether it can be believed."""
        if self._believed is not None and _jumps(self._believed, t_ns, stress_psi):
            agrees = self._doubted is not None and not _jumps(self._doubted, t_ns, stress_psi)
            self._doubts = self._doubts + 1 if agrees else 1
            self._doubted = t_ns, stress_psi
            if self._doubts < _CONVINCING:
                return False
        self._believed, self._doubted, self._doubts = (t_ns, stress_psi), None, 0
        return True


def _jumps(before: tuple[int, float], t_ns: int, stress_psi: float) -> bool:
    elapsed_s = max(t_ns - before[0], 0) / _NS_PER_S
    return abs(stress_psi - before[1]) > reach_psi(elapsed_s)


class SteadyLoad:
    """Causal median of three readings, or of five where they come closer than 50 ms, behind a gate.

    The value belongs to the middle of its readings: it lags by one reading period (100 ms at 10
    readings/s) or two (25 ms at 80/s), and says so by its time.
    """

    def __init__(self) -> None:
        self._gate = JumpGate()
        self._kept: deque[tuple[int, float]] = deque(maxlen=_NARROW)

    def feed(self, t_ns: int, stress_psi: float) -> tuple[int, float] | None:
        """Take a raw stress; the steadied one with its own time, None where there is none."""
        if not self._gate.feed(t_ns, stress_psi):
            return None
        kept = self._kept
        if kept and t_ns - kept[-1][0] > _GAP_NS:
            kept.clear()
        width = _WIDE if kept and t_ns - kept[-1][0] < _CLOSE_NS else _NARROW
        if width != kept.maxlen:
            self._kept = kept = deque(kept, maxlen=width)
        kept.append((t_ns, stress_psi))
        if len(kept) < _NARROW:
            return None
        used = list(kept)[1 - len(kept) % 2 :]
        middle = len(used) // 2
        return used[middle][0], sorted(psi for _, psi in used)[middle]


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

    def feed(self, t_ns: int, stress_psi: float) -> float | None:
        """Take a value; the slope in psi/s, or None before the window is half filled."""
        if self._origin_ns is None:
            self._origin_ns = t_ns
        self._add(t_ns, (t_ns - self._origin_ns) / _NS_PER_S, stress_psi)
        while self._points[0][0] < t_ns - self._window_ns:
            self._drop()
        spread = len(self._points) * self._tt - self._t * self._t
        if 2 * (t_ns - self._points[0][0]) < self._window_ns or spread <= 0:
            return None
        return (len(self._points) * self._tx - self._t * self._x) / spread

    def _add(self, t_ns: int, t_s: float, x: float) -> None:
        self._points.append((t_ns, t_s, x))
        self._t += t_s
        self._x += x
        self._tt += t_s * t_s
        self._tx += t_s * x

    def _drop(self) -> None:
        _, t_s, x = self._points.popleft()
        self._t -= t_s
        self._x -= x
        self._tt -= t_s * t_s
        self._tx -= t_s * x
