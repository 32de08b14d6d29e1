"""Virtual time: calls cost time, sleeps pass it, and plans come due."""

import heapq
import itertools
import time
from collections.abc import Callable

from ramphold.clock import NS_PER_S, ClockState, SystemClock

# Extra duration of a sleep, as with a real scheduler.
_OVERSLEEP_NS = 70_000


class VirtualTime:
    """Virtual time for code that sleeps and polls."""

    def __init__(self) -> None:
        self._now_ns = 0
        self._plans: list[tuple[int, int, Callable[[], None]]] = []
        self._numbers = itertools.count()

    def now_ns(self) -> int:
        """Monotonic time in ns."""
        return self._now_ns

    def utc_ns(self) -> int:
        """UTC in ns since 1970; equal to the monotonic time."""
        return self._now_ns

    def state(self) -> ClockState:
        """Nothing is known of it."""
        return ClockState()

    def perf_counter(self) -> float:
        """Monotonic time in s, as `time.perf_counter`."""
        return self._now_ns / NS_PER_S

    def sleep(self, seconds: float) -> None:
        """Pass a time in s, and the extra duration of a sleep."""
        self.spend(max(0, round(seconds * NS_PER_S)) + _OVERSLEEP_NS)

    def spend(self, span_ns: int) -> None:
        """Pass a time in ns; plans within it run when they are due."""
        end_ns = self._now_ns + span_ns
        while self._plans and self._plans[0][0] <= end_ns:
            due_ns, _, action = heapq.heappop(self._plans)
            self._now_ns = max(self._now_ns, due_ns)
            action()
        self._now_ns = end_ns

    def plan(self, at_s: float, action: Callable[[], None]) -> None:
        """Run an action at a time in s, whatever is going on then."""
        heapq.heappush(self._plans, (round(at_s * NS_PER_S), next(self._numbers), action))


class PassingTime(SystemClock):
    """Real time with the interface of virtual time."""

    def perf_counter(self) -> float:
        """Monotonic time in s."""
        return self.now_ns() / NS_PER_S

    def sleep(self, seconds: float) -> None:
        """Pass a time in s."""
        time.sleep(seconds)

    def spend(self, span_ns: int) -> None:
        """Do nothing: real time passes by itself."""
