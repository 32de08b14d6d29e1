"""A live run: its tracker, and the part of it that waits to be written."""

from dataclasses import dataclass, field

from ramphold.core import Command, Event, Reading, RunPlan, TimePassed, Tracker


@dataclass(slots=True)
class Unwritten:
    """The part of a run that has not been committed yet, as the store takes it."""

    readings: list[Reading] = field(default_factory=list)
    commands: list[tuple[int, int, Command]] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)

    def followed_by(self, later: "Unwritten") -> "Unwritten":
        """This part and the one after it, as one."""
        return Unwritten(
            self.readings + later.readings,
            self.commands + later.commands,
            self.events + later.events,
        )


class LiveRun:
    """One run from its start to its end.

    Args:
        number: the run's number in the store.
        plan: what it is meant to do.
        t_ns: monotonic time of its start in ns.
    """

    def __init__(self, number: int, plan: RunPlan, t_ns: int) -> None:
        self.number = number
        self.tracker = Tracker(plan, t_ns=t_ns)
        self._unwritten = Unwritten()
        self._readings = 0

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
        """Hand over all that waits to be written; the caller writes it or gives it back."""
        taken, self._unwritten = self._unwritten, Unwritten()
        return taken

    def give_back(self, unwritten: Unwritten) -> None:
        """Take back what could not be written."""
        self._unwritten = unwritten.followed_by(self._unwritten)

    def _keep(self, events: list[Event]) -> list[Event]:
        self._unwritten.events += events
        return events
