"""What the link tells the screen, and what the screen then knows."""

from dataclasses import replace

from textual.message import Message

from ramphold.control.methods import Health, Live, RecordAdded, RunEvent, Status
from ramphold.control.screen_methods import Shakings
from ramphold.core import MassReading
from ramphold.wire import RunRecord
from ramphold_tui.view.bench_state import BenchState
from ramphold_tui.view.sieve_timers import sieve_of

__all__ = [
    "HealthArrived",
    "LinkLost",
    "LinkUp",
    "LiveArrived",
    "MassArrived",
    "News",
    "RecordArrived",
    "RunHappened",
    "RunKnown",
    "ScreenShown",
    "SievesKnown",
]


class ScreenShown(Message):
    """A screen came into sight and wants to be told what is known."""


class News(Message, bubble=False):
    """Anything that the daemon told, or that the link says of it."""

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """What is known after it, arrived now on the screen's own clock."""
        del now_ns
        return bench


class _Replaceable(News):
    """Of these only the newest counts, so a slow screen never falls behind."""

    def can_replace(self, message: Message) -> bool:
        """Whether `message`, waiting behind this one, makes it needless."""
        return type(message) is type(self)


class LiveArrived(_Replaceable):
    """The load and the run, as of now."""

    def __init__(self, live: Live) -> None:
        super().__init__()
        self.live = live

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The newest load, and when it was heard."""
        return replace(bench, live=self.live, heard_ns=now_ns)


class MassArrived(_Replaceable):
    """What the balance shows."""

    def __init__(self, mass: MassReading) -> None:
        super().__init__()
        self.mass = mass

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The newest mass, and when."""
        return replace(bench, mass=self.mass, mass_ns=now_ns)


class HealthArrived(_Replaceable):
    """How the instruments are."""

    def __init__(self, health: Health) -> None:
        super().__init__()
        self.health = health

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The instruments."""
        del now_ns
        return replace(bench, instruments=self.health.instruments)


class RunHappened(News):
    """Something happened in the live run."""

    def __init__(self, event: RunEvent) -> None:
        super().__init__()
        self.event = event


class RecordArrived(News):
    """A record was added: what is shown of the records may be out of date."""

    def __init__(self, added: RecordAdded) -> None:
        super().__init__()
        self.added = added

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """That the records have changed."""
        del now_ns
        return replace(bench, news_of_records=bench.news_of_records + 1)


class SievesKnown(News):
    """What is on the shaker, or done and not taken off."""

    def __init__(self, shakings: Shakings) -> None:
        super().__init__()
        self.shakings = shakings

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The timers, on the screen's own clock from here."""
        found = tuple(sieve_of(one, now_ns) for one in self.shakings.shakings)
        return replace(bench, sieves=found)


class RunKnown(News):
    """Plan and operator of a run that the screen had not seen before."""

    def __init__(self, run: RunRecord) -> None:
        super().__init__()
        self.run = run

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The run's plan and operator."""
        del now_ns
        return replace(bench, record=self.run)


class LinkUp(News):
    """The daemon answers."""

    def __init__(self, status: Status, live: Live) -> None:
        super().__init__()
        self.status = status
        self.live = live

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """The bench as it is now; the link is no more lost."""
        return replace(
            bench,
            status=self.status,
            instruments=self.status.instruments,
            live=self.live,
            heard_ns=now_ns,
            lost=None,
            news_of_records=bench.news_of_records + 1,
        )


class LinkLost(News):
    """The daemon does not answer; the link keeps trying."""

    def __init__(self, reason: str) -> None:
        super().__init__()
        self.reason = reason

    def learn(self, bench: BenchState, now_ns: int) -> BenchState:
        """Why the link is down."""
        del now_ns
        return replace(bench, lost=self.reason)
