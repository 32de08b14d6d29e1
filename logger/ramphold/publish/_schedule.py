"""Decides when each record is sent. Pure: times in ns and random numbers are given.

Records are sent in the order of their numbers, and each waits for its receipt. Without a receipt in
time a record is sent again, as a new message, after a wait that doubles. A broken line has nothing
in flight.
"""

from collections.abc import Callable, Iterable

_FIRST_WAIT_NS, _LONGEST_WAIT_NS = 30 * 10**9, 480 * 10**9
# While nobody listens, a retry costs little.
_FIRST_UNHEARD_NS, _LONGEST_UNHEARD_NS = 5 * 10**9, 60 * 10**9
_MOST_DOUBLINGS = 8
_WINDOW = 16
_MOST_BYTES = 4 * 1024 * 1024


class Schedule:
    """The records in flight.

    Args:
        chance: returns a random number from 0 to 1, which varies each wait a little.
        window: the most records in flight at once.
        most_bytes: the most bytes in flight; a larger record travels alone.
    """

    def __init__(
        self,
        chance: Callable[[], float],
        *,
        window: int = _WINDOW,
        most_bytes: int = _MOST_BYTES,
    ) -> None:
        self._chance = chance
        self._window = window
        self._most_bytes = most_bytes
        self._due_ns: dict[int, int] = {}
        self._bytes: dict[int, int] = {}
        self._tries: dict[int, int] = {}

    @property
    def in_flight(self) -> frozenset[int]:
        """Numbers of the records that were sent and have no receipt."""
        return frozenset(self._due_ns)

    def next(self, waiting: Iterable[int]) -> int | None:
        """The next record to send, of those that wait in order; None if there is no room."""
        if len(self._due_ns) >= self._window or sum(self._bytes.values()) >= self._most_bytes:
            return None
        return next((record for record in waiting if record not in self._due_ns), None)

    def sent(self, record: int, size: int, now_ns: int) -> None:
        """Note that a record of `size` bytes was sent."""
        self._tries[record] = self._tries.get(record, 0) + 1
        self._wait(record, now_ns, _FIRST_WAIT_NS, _LONGEST_WAIT_NS)
        self._bytes[record] = size

    def unheard(self, record: int, now_ns: int) -> None:
        """Note that nobody subscribes to a record: no receipt can come, so it waits less."""
        if record in self._due_ns:
            self._wait(record, now_ns, _FIRST_UNHEARD_NS, _LONGEST_UNHEARD_NS)

    def ended(self, records: Iterable[int]) -> None:
        """Note that records got their receipt, or were parked."""
        for record in records:
            self._forget(record)
            self._tries.pop(record, None)

    def lost(self) -> None:
        """Note that the line broke: nothing is in flight any more."""
        for record in self.in_flight:
            self._forget(record)
        self._tries.clear()

    def overdue(self, now_ns: int) -> frozenset[int]:
        """Records whose receipt did not come in time; each is to be sent again."""
        late = frozenset(record for record, due_ns in self._due_ns.items() if due_ns <= now_ns)
        for record in late:
            self._forget(record)
        return late

    def _wait(self, record: int, now_ns: int, first_ns: int, longest_ns: int) -> None:
        doublings = min(self._tries[record] - 1, _MOST_DOUBLINGS)
        wait_ns = min(first_ns * 2**doublings, longest_ns)
        self._due_ns[record] = now_ns + round(wait_ns * (0.75 + self._chance() / 2))

    def _forget(self, record: int) -> None:
        self._due_ns.pop(record, None)
        self._bytes.pop(record, None)
