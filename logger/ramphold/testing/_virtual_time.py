"""A clock that moves by what is done: calls cost time, sleeps pass it, and plans come due in it."""

import heapq
import itertools
import time
from collections.abc import Callable

from ramphold.clock import NS_PER_S, SystemClock

__all__ = ["PassingTime", "VirtualTime"]


# By how much a sleep takes longer than asked, as a scheduler makes it.
_OVERSLEEP_NS = 70_000


class VirtualTime:
    """Time for code that sleeps and polls, without a second of it passing."""

    def __init__(self) -> None:
        self._now_ns = 0
        self._plans: list[tuple[int, int, Callable[[], None]]] = []
        self._numbers = itertools.count()

    def now_ns(self) -> int:
        """Monotonic time in ns."""
        return self._now_ns

    def utc_ns(self) -> int:
        """UTC in ns since 1970, which here is the monotonic time."""
        return self._now_ns

    def perf_counter(self) -> float:
        """Monotonic time in s, as the standard library's function of that name."""
        return self._now_ns / NS_PER_S

    def sleep(self, seconds: float) -> None:
        """Pass a time in s, and what a sleep takes longer."""
        self.spend(max(0, round(seconds * NS_PER_S)) + _OVERSLEEP_NS)

    def spend(self, span_ns: int) -> None:
        """Pass a time in ns; what was planned within it is done at its own moment."""
        end_ns = self._now_ns + span_ns
        while self._plans and self._plans[0][0] <= end_ns:
            due_ns, _, action = heapq.heappop(self._plans)
            self._now_ns = max(self._now_ns, due_ns)
            action()
        self._now_ns = end_ns

    def plan(self, at_s: float, action: Callable[[], None]) -> None:
        """Do something at a time in s, in the midst of whatever goes on then."""
        heapq.heappush(self._plans, (round(at_s * NS_PER_S), next(self._numbers), action))


class PassingTime(SystemClock):
    """The computer's own time in the place of a virtual one: it passes by itself."""

    def perf_counter(self) -> float:
        """Monotonic time in s."""
        return self.now_ns() / NS_PER_S

    def sleep(self, seconds: float) -> None:
        """Pass a time in s."""
        time.sleep(seconds)

    def spend(self, span_ns: int) -> None:
        """What is done has cost its time already."""
