"""The press while no run is live: its load is still watched, and its warnings are recorded."""

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

# Nobody raises or clears a warning.
_NOBODY = "-"


class IdlePress:
    """Rating warnings before, between and after runs.

    Args:
        rating: the greatest load the press may bear.
        clock: dates their records.
    """

    def __init__(self, rating: Rating, clock: Clock) -> None:
        self._warnings = Warnings(rating)
        self._clock = clock
        self._unwritten: list[PressWarned] = []

    @property
    def standing(self) -> tuple[StandingWarning, ...]:
        """The warnings that stand, the gravest first."""
        return self._warnings.standing

    def feed(self, reading: Reading) -> None:
        """Take a reading that belongs to no run."""
        before = self.standing
        self._keep(self._warnings.feed(reading, RunState.READY), before, _NOBODY)

    def acknowledge(self, t_ns: int, operator: str) -> None:
        """Record that a person has seen the warnings."""
        before = self.standing
        self._keep(self._warnings.acknowledge(t_ns), before, operator)

    def take_unwritten(self) -> list[PressWarned]:
        """Hand over what waits to be recorded; the caller records it or gives it back."""
        taken, self._unwritten = self._unwritten, []
        return taken

    def give_back(self, unwritten: list[PressWarned]) -> None:
        """Take back what could not be recorded."""
        self._unwritten = unwritten + self._unwritten

    def _keep(
        self, events: Sequence[WarningEvent], before: Sequence[StandingWarning], operator: str
    ) -> None:
        # The greatest load is known once a warning is over: it is in what stood until then.
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
