"""A run while it is followed: its tracker, and what of it waits to be written."""

from dataclasses import dataclass, field

from ramphold.core import Command, Event, Reading, RunPlan, TimePassed, Tracker

__all__ = ["LiveRun", "Unwritten"]


@dataclass(slots=True)
class Unwritten:
    """The part of a run that has not been committed yet, as `Store.append` takes it."""

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
        """Take a reading, and keep it whatever it is worth."""
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
        """Take that it is `now_ns`; kept as a command only where something comes of it."""
        due_ns = self.tracker.next_deadline
        if due_ns is None or now_ns < due_ns:
            return []
        return self.command(TimePassed(), now_ns)

    @property
    def unwritten(self) -> Unwritten:
        """All that waits to be written, as it is now."""
        return self._unwritten.followed_by(Unwritten())

    def take_unwritten(self) -> Unwritten:
        """All that waits to be written; from now on it is the caller's to write."""
        taken, self._unwritten = self._unwritten, Unwritten()
        return taken

    def give_back(self, unwritten: Unwritten) -> None:
        """What could not be written waits again."""
        self._unwritten = unwritten.followed_by(self._unwritten)

    def _keep(self, events: list[Event]) -> list[Event]:
        self._unwritten.events += events
        return events
