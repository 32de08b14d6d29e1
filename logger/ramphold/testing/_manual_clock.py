"""A clock that moves only when told."""

from ramphold.clock import NS_PER_S, ClockState


class ManualClock:
    """Monotonic time and UTC, moved together.

    Args:
        now_ns: monotonic time at the start, in ns.
        utc_ns: UTC at the start, in ns since 1970.

    Attributes:
        known: what is known of it.
    """

    def __init__(self, now_ns: int = 0, utc_ns: int = 0) -> None:
        self._now_ns = now_ns
        self._utc_ns = utc_ns
        self.known = ClockState()

    def now_ns(self) -> int:
        """Monotonic time in ns."""
        return self._now_ns

    def utc_ns(self) -> int:
        """UTC in ns since 1970."""
        return self._utc_ns

    def state(self) -> ClockState:
        """What is known of it."""
        return self.known

    def set_calendar(self, utc_ns: int) -> None:
        """Set UTC in ns, as a person or a server does."""
        self._utc_ns = utc_ns

    def advance(self, seconds: float) -> None:
        """Move both by a time in s."""
        self._now_ns += round(seconds * NS_PER_S)
        self._utc_ns += round(seconds * NS_PER_S)
