"""What the screen knows at one moment. Times are on the screen's own clock."""

from msgspec import Struct
from msgspec.structs import replace

from ramphold.control.act import RecordAdded
from ramphold.control.instrument_methods import InstrumentHealth, InstrumentsHealth
from ramphold.control.methods import Told
from ramphold.control.run_methods import Live
from ramphold.control.server_methods import BenchTrust, Status
from ramphold.control.shaker_methods import Shakings
from ramphold.core import MassReading, Snapshot, StandingWarning, WarningKind
from ramphold.trust import TrustPart
from ramphold.wire import RunRecord
from ramphold_tui.view.sieve_timers import SieveTimer, sieve_timer


class LinkUp(Struct, frozen=True):
    """The daemon answers, and this is how the bench is."""

    status: Status
    live: Live


class LinkLost(Struct, frozen=True):
    """The daemon does not answer; the link keeps trying."""

    reason: str


#: What the daemon told, a run's record among it, or what became of the link.
Heard = Told | Shakings | RunRecord | LinkUp | LinkLost


class BenchState(Struct, frozen=True, kw_only=True):
    """All that the daemon has told, and when it was last heard.

    Attributes:
        status: what the bench is; None until the daemon answered once.
        lost: why the link is down; None while it is up.
        heard_ns: when the newest of load and run arrived.
        live: load and run at that time.
        record: plan and operator of the run last shown.
        instruments: the health of each instrument.
        trust: how far each part of the bench can be trusted.
        mass, mass_ns: what the balance showed, and when.
        records_version: grows whenever a record was added, or may have been while the link was
            down. A screen that shows records reads them again when it has changed.
        sieves: what is on the shaker, running or done.
    """

    status: Status | None = None
    lost: str | None = None
    heard_ns: int | None = None
    live: Live | None = None
    record: RunRecord | None = None
    instruments: tuple[InstrumentHealth, ...] = ()
    trust: tuple[TrustPart, ...] = ()
    mass: MassReading | None = None
    mass_ns: int | None = None
    records_version: int = 0
    sieves: tuple[SieveTimer, ...] = ()

    @property
    def snapshot(self) -> Snapshot | None:
        """The run, live or ended, if there is one."""
        return self.live.snapshot if self.live else None

    @property
    def warnings(self) -> tuple[StandingWarning, ...]:
        """The warnings of the run and of the press, the worst first."""
        of_run = self.snapshot.warnings if self.snapshot else ()
        kinds = {one.kind for one in of_run}
        idle = self.live.idle_warnings if self.live else ()
        both = (*of_run, *(one for one in idle if one.kind not in kinds))
        gravity = list(WarningKind)
        return tuple(sorted(both, key=lambda one: -gravity.index(one.kind)))

    @property
    def rating_lbf(self) -> float | None:
        """The rating of the weakest part in lbf; None if it is unknown."""
        if self.snapshot is not None:
            return self.snapshot.rating_lbf
        return self.live.rating_lbf if self.live else None

    @property
    def running(self) -> bool:
        """Whether a run is live, as far as the screen knows."""
        return self.live is not None and self.live.run is not None

    def learn(self, heard: Heard, now_ns: int) -> "BenchState":
        """What is known after this was heard at `now_ns`."""
        news = self.records_version + 1
        match heard:
            case Live():
                new = replace(self, live=heard, heard_ns=now_ns)
            case MassReading():
                new = replace(self, mass=heard, mass_ns=now_ns)
            case InstrumentsHealth():
                new = replace(self, instruments=heard.instruments)
            case BenchTrust():
                new = replace(self, trust=heard.parts)
            case RecordAdded():
                new = replace(self, records_version=news)
            case Shakings():
                timers = tuple(sieve_timer(one, now_ns) for one in heard.shakings)
                new = replace(self, sieves=timers)
            case RunRecord():
                new = replace(self, record=heard)
            case LinkLost():
                new = replace(self, lost=heard.reason)
            case LinkUp(status, live):
                new = replace(self, status=status, instruments=status.instruments, lost=None)
                new = replace(new, live=live, heard_ns=now_ns, records_version=news)
                new = replace(new, trust=status.trust)
            case _:
                new = self
        return new

    def reading_age_s(self, now_ns: int) -> float | None:
        """Age of the newest reading in s; None before the first.

        It is the age on the daemon's clock when the daemon told it, plus the time since then.
        """
        live = self.live
        if live is None or live.reading_t_ns is None or self.heard_ns is None:
            return None
        return (live.t_ns - live.reading_t_ns + now_ns - self.heard_ns) / 1e9

    def utc_ns(self, now_ns: int) -> int:
        """The daemon's own time, UTC in ns; 0 before it was heard."""
        if self.status is None or self.live is None or self.heard_ns is None:
            return 0
        return self.status.utc_ns + self.live.t_ns - self.status.t_ns + now_ns - self.heard_ns
