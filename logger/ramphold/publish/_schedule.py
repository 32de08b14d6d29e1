"""When which record is sent. Pure: times in ns and chance are given.

A record is sent in the order of its number and waits for its receipt. Where none comes in time it
is sent again, as a new message, after a wait that doubles; a lost line forgets what was on its way.
"""

from collections.abc import Callable, Iterable

__all__ = ["Schedule"]

_FIRST_WAIT_NS, _LONGEST_WAIT_NS = 30 * 10**9, 480 * 10**9
# Where nobody listens yet, little is lost by asking sooner.
_FIRST_UNHEARD_NS, _LONGEST_UNHEARD_NS = 5 * 10**9, 60 * 10**9
_MOST_DOUBLINGS = 8
_WINDOW = 16
_MOST_BYTES = 4 * 1024 * 1024


class Schedule:
    """What is on its way.

    Args:
        chance: a number from 0 to 1, for each wait to be a little another.
        window: how many records may be on their way at once.
        most_bytes: how many bytes of them; one that is larger goes alone.
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
    def on_their_way(self) -> frozenset[int]:
        """Numbers of the records that were sent and have no receipt yet."""
        return frozenset(self._due_ns)

    def next(self, waiting: Iterable[int]) -> int | None:
        """The record to send now, of those that wait in order; None where there is no room."""
        if len(self._due_ns) >= self._window or sum(self._bytes.values()) >= self._most_bytes:
            return None
        return next((record for record in waiting if record not in self._due_ns), None)

    def sent(self, record: int, size: int, now_ns: int) -> None:
        """A record of so many bytes was handed over."""
        self._tries[record] = self._tries.get(record, 0) + 1
        self._wait(record, now_ns, _FIRST_WAIT_NS, _LONGEST_WAIT_NS)
        self._bytes[record] = size

    def unheard(self, record: int, now_ns: int) -> None:
        """Nobody was there to be given a record: no receipt can come, and it waits less."""
        if record in self._due_ns:
            self._wait(record, now_ns, _FIRST_UNHEARD_NS, _LONGEST_UNHEARD_NS)

    def ended(self, records: Iterable[int]) -> None:
        """Records have their receipt, or were parked."""
        for record in records:
            self._forget(record)
            self._tries.pop(record, None)

    def lost(self) -> None:
        """The line broke: nothing that was on its way is counted on."""
        for record in self.on_their_way:
            self._forget(record)
        self._tries.clear()

    def overdue(self, now_ns: int) -> frozenset[int]:
        """Records whose receipt did not come in time; they are to be sent again."""
        late = frozenset(record for record, due_ns in self._due_ns.items() if due_ns <= now_ns)
        for record in late:
            self._forget(record)
        return late

    @property
    def next_deadline(self) -> int | None:
        """When the first receipt is overdue, in ns; None where none is awaited."""
        return min(self._due_ns.values(), default=None)

    def _wait(self, record: int, now_ns: int, first_ns: int, longest_ns: int) -> None:
        doublings = min(self._tries[record] - 1, _MOST_DOUBLINGS)
        wait_ns = min(first_ns * 2**doublings, longest_ns)
        self._due_ns[record] = now_ns + round(wait_ns * (0.75 + self._chance() / 2))

    def _forget(self, record: int) -> None:
        self._due_ns.pop(record, None)
        self._bytes.pop(record, None)
