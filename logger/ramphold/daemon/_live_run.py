"""A live run: its tracker, and the part of it that waits to be written."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Self

from ramphold.core import Command, Event, Reading, TimePassed, Tracker, refeed
from ramphold.daemon.run_digest import RunDigest
from ramphold.wire.run_part import Counts, RunBegun


@dataclass(slots=True)
class Unwritten:
    """The part of a run that has not been committed yet, as the store takes it."""

    readings: list[Reading] = field(default_factory=list)
    commands: list[tuple[int, int, Command]] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.readings or self.commands or self.events)

    def followed_by(self, later: "Unwritten") -> "Unwritten":
        """This part and the one after it, as one."""
        return Unwritten(
            self.readings + later.readings,
            self.commands + later.commands,
            self.events + later.events,
        )

    def after(self, count: Counts) -> "Unwritten":
        """This part without so many of its first readings, commands and events."""
        return Unwritten(
            self.readings[count.readings :],
            self.commands[count.commands :],
            self.events[count.events :],
        )

    @property
    def count(self) -> Counts:
        """How many readings, commands and events."""
        return Counts(len(self.readings), len(self.commands), len(self.events))


class LiveRun:
    """One run from its start to its end.

    Args:
        begun: its number in the store, its plan and its start.
        stored: whether its start is in the store.

    Attributes:
        written: how many readings, commands and events of it are in the store.
        digest: of those, as they were when they were committed.
    """

    def __init__(self, begun: RunBegun, *, stored: bool = True) -> None:
        self.begun, self.number, self.stored = begun, begun.run, stored
        self.tracker = Tracker(begun.plan, t_ns=begun.t_ns)
        self.written = Counts()
        self.digest = RunDigest()
        self._unwritten = Unwritten()
        self._readings = 0

    @classmethod
    def again(
        cls,
        begun: RunBegun,
        readings: Sequence[Reading],
        commands: Sequence[tuple[int, int, Command]],
    ) -> tuple[Self, list[Event]]:
        """A run as its input in the store leaves it, and the events that follow from that."""
        run = cls(begun)
        run.tracker, events = refeed(begun.plan, begun.t_ns, readings, commands)
        run.written = Counts(len(readings), len(commands), len(events))
        run.digest.take(readings, commands, events)
        run._readings = len(readings)
        return run, events

    def feed(self, reading: Reading) -> list[Event]:
        """Take a reading, usable or not."""
        self._unwritten.readings.append(reading)
        self._readings += 1
        return self._keep(self.tracker.feed(reading))

    def command(self, command: Command, t_ns: int) -> list[Event]:
        """Take a command.

        Raises:
            CommandRefused: the run has ended.
        """
        events = self.tracker.command(command, t_ns)
        self._unwritten.commands.append((self._readings, t_ns, command))
        return self._keep(events)

    def pass_time(self, now_ns: int) -> list[Event]:
        """Advance to `now_ns`; stored as a command only where an event comes of it."""
        due_ns = self.tracker.next_deadline
        if due_ns is None or now_ns < due_ns:
            return []
        return self.command(TimePassed(), now_ns)

    @property
    def unwritten(self) -> Unwritten:
        """A copy of all that waits to be written."""
        return self._unwritten.followed_by(Unwritten())

    def take_unwritten(self) -> Unwritten:
        """Hand over all that waits to be written; the caller gives it back or says it is kept."""
        taken, self._unwritten = self._unwritten, Unwritten()
        return taken

    def give_back(self, unwritten: Unwritten) -> None:
        """Take back what could not be written."""
        self._unwritten = unwritten.followed_by(self._unwritten)

    def wrote(self, part: Unwritten) -> None:
        """Count what was handed over as written."""
        self.stored = True
        self.digest.take(part.readings, part.commands, part.events)
        self.written = self.written.plus(part.count)

    def _keep(self, events: list[Event]) -> list[Event]:
        self._unwritten.events += events
        return events
