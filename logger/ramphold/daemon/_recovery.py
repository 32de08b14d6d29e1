"""What becomes of a run that a dead daemon left live: taken up again soon, interrupted later."""

import logging
from collections.abc import Callable

from ramphold.clock import NS_PER_S, Clock
from ramphold.daemon._live_run import LiveRun
from ramphold.daemon.tail_folder import TailFolder
from ramphold.store import Store
from ramphold.wire import RunRecord
from ramphold.wire.run_part import RunBegun

#: The load may be followed on after a gap this long at most; nobody knows what it did meanwhile.
TAKE_UP_S = 5.0

_log = logging.getLogger(__name__)


class Recovery:
    """Called in the store's thread when the database is opened.

    Args:
        tails: what the database refused of runs.
        clock: the time.
        unfinished: number of a run that this daemon itself follows.

    Attributes:
        taken_up: the run to be followed on, as its committed readings left it; None without one.
    """

    def __init__(
        self, tails: TailFolder, clock: Clock, unfinished: Callable[[], int | None]
    ) -> None:
        self._tails, self._clock, self._unfinished = tails, clock, unfinished
        self.taken_up: LiveRun | None = None

    def __call__(self, store: Store) -> tuple[int, ...]:
        """Take in what was refused; numbers of the runs that are interrupted."""
        self._tails.take_in(store, but=self._unfinished())
        live = store.runs.live()
        if live is None:
            return ()
        if self._is_recent(store, live):
            self.taken_up = _again(store, live)
        return () if self.taken_up else store.runs.interrupt_live()

    def _is_recent(self, store: Store, live: RunRecord) -> bool:
        """Whether the run can go on: its times are of this boot, and its readings end just now."""
        boot = self._clock.state().boot
        gap_ns = self._clock.now_ns() - store.runs.last_t_ns(live)
        return bool(boot) and live.plan.boot == boot and 0 <= gap_ns <= TAKE_UP_S * NS_PER_S


def _again(store: Store, live: RunRecord) -> LiveRun | None:
    """The run as its committed input leaves it; None where its events do not follow from that."""
    begun = RunBegun(
        run=live.id,
        specimen=live.specimen,
        operator=live.operator,
        plan=live.plan,
        t_ns=live.started_t_ns,
        utc_ns=live.started_utc_ns,
    )
    run, events = LiveRun.again(begun, store.runs.readings(live.id), store.runs.commands(live.id))
    if events != store.runs.events(live.id):
        _log.error("run %d is not taken up: its events do not follow from its input", live.id)
        return None
    return run
