"""What a receipt shows of our calendar against the server's; one that comes late shows less."""

from ramphold.clock import NS_PER_S, Clock
from ramphold.sample import ClockStamp


class ServerCalendar:
    """The server's calendar as its newest receipt has it.

    A receipt was signed after the newest record that it covers was made, and before it came. Both
    are known by the time of the boot, so our calendar may have been set since.
    """

    def __init__(self, clock: Clock) -> None:
        self._clock = clock
        self._signed_utc_ns: int | None = None
        self._came_ns = 0
        self._made_ns: int | None = None

    def take(self, signed_utc_ns: int, made: ClockStamp | None) -> None:
        """Take a receipt that has just come.

        Args:
            signed_utc_ns: when it was signed, by the server's calendar, in ns.
            made: when the newest record that it covers was made; None if that is not known.
        """
        here = made is not None and made.boot == self._clock.state().boot
        self._signed_utc_ns, self._came_ns = signed_utc_ns, self._clock.now_ns()
        self._made_ns = made.t_ns if made is not None and here else None

    @property
    def off_s(self) -> float | None:
        """How far our calendar is ahead of the server's at least; 0: nothing shows it; None before.

        Negative where it is behind.
        """
        if self._signed_utc_ns is None:
            return None
        boot_utc_ns = self._clock.utc_ns() - self._clock.now_ns()
        behind_ns = self._signed_utc_ns - (boot_utc_ns + self._came_ns)
        if behind_ns > 0:
            return -behind_ns / NS_PER_S
        if self._made_ns is None:
            return 0.0
        return max(0, boot_utc_ns + self._made_ns - self._signed_utc_ns) / NS_PER_S
