"""The press while no run follows it: what it bears is still watched, and what was seen is kept."""

from collections.abc import Sequence

from ramphold.clock import Clock
from ramphold.core import (
    Rating,
    Reading,
    RunState,
    StandingWarning,
    WarningAcknowledged,
    WarningEvent,
    WarningRaised,
    Warnings,
)
from ramphold.sample import PressWarned

__all__ = ["IdlePress"]

# Who raised or cleared a warning: nobody did.
_NOBODY = "-"


class IdlePress:
    """Rating warnings before, between and after runs.

    Args:
        rating: what the press bears.
        clock: dates what is kept of them.
    """

    def __init__(self, rating: Rating, clock: Clock) -> None:
        self._warnings = Warnings(rating)
        self._clock = clock
        self._unwritten: list[PressWarned] = []

    @property
    def standing(self) -> tuple[StandingWarning, ...]:
        """Those that stand, the gravest first."""
        return self._warnings.standing

    def feed(self, reading: Reading) -> None:
        """Take a reading that belongs to no run."""
        before = self.standing
        self._keep(self._warnings.feed(reading, RunState.READY), before, _NOBODY)

    def acknowledge(self, t_ns: int, operator: str) -> None:
        """Take a person's word that they were seen."""
        before = self.standing
        self._keep(self._warnings.acknowledge(t_ns), before, operator)

    def take_unwritten(self) -> list[PressWarned]:
        """What waits to be recorded; from now on it is the caller's to record."""
        taken, self._unwritten = self._unwritten, []
        return taken

    def give_back(self, unwritten: list[PressWarned]) -> None:
        """What could not be recorded waits again."""
        self._unwritten = unwritten + self._unwritten

    def _keep(
        self, events: Sequence[WarningEvent], before: Sequence[StandingWarning], operator: str
    ) -> None:
        # How far it went is known once it is over: the greatest load is in what stood until then.
        raised = {one.kind: one.raised for one in before}
        for event in events:
            if not event.kind.latched:
                continue
            happened = "cleared"
            if isinstance(event, WarningRaised):
                happened, raised[event.kind] = "raised", event
            elif isinstance(event, WarningAcknowledged):
                happened = "acknowledged"
            of = raised[event.kind]
            self._unwritten.append(
                PressWarned(
                    operator=operator,
                    utc_ns=self._clock.utc_ns(),
                    warning=event.kind,
                    happened=happened,
                    name=of.name,
                    load_lbf=of.load_lbf,
                    limit_lbf=of.limit_lbf,
                )
            )
