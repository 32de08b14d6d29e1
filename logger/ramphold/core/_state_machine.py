"""When a run changes its state, from first contact to release.

`_states` has the table of transitions; this module decides from the filtered stress when each
happens.
"""

from collections.abc import Collection

from ramphold.core._accounts import HoldAccount, LastingPeak, RampAccount, Sustained
from ramphold.core._bounds import at_least
from ramphold.core._events import StateChanged
from ramphold.core._plan import RunPlan
from ramphold.core._states import ENDED, HOLD, RAMP, READY, RELEASE, SEATING, Trigger, next_state


class StateMachine:
    """State, ramp, hold and peak of one run.

    Attributes:
        state, reason: the state of the run, and why it is in it.
        ended: whether the state is final.
        ramp, hold: their accounts; None before they begin.
        peak_psi: greatest stress between contact and the end of the run.
        stress_psi: the newest stress, also after the end.
        rest_psi: least stress since the end.
    """

    def __init__(self, plan: RunPlan) -> None:
        self.plan = plan
        self.state = READY
        self.ended = False
        self.reason = "waiting for contact"
        self.ramp: RampAccount | None = None
        self.hold: HoldAccount | None = None
        self.peak_psi: float | None = None
        self.stress_psi: float | None = None
        self.rest_psi: float | None = None
        # Ramp and hold as they will be if the load stays at target.
        self._arrival: tuple[RampAccount, HoldAccount] | None = None
        rules, target_psi = plan.rules, plan.target_psi
        self._at_target_psi = target_psi * rules.hold_start_pct / 100
        self._release_psi = target_psi * rules.release_pct / 100
        self._drop_psi = target_psi * rules.ramp_drop_pct / 100
        self._contact_psi = rules.contact_psi
        self._at_target = Sustained(plan.rules.settle_s)
        self._released = Sustained(plan.rules.settle_s)
        self._lasting = LastingPeak(plan.rules.settle_s)
        self._changes: list[StateChanged] = []
        self._judges = {
            READY: self._in_ready,
            SEATING: self._in_seating,
            RAMP: self._in_ramp,
            HOLD: self._in_hold,
            RELEASE: self._in_release,
        }

    def feed(self, t_ns: int, stress_psi: float) -> list[StateChanged]:
        """Process a stress, through as many states as it crosses."""
        self.stress_psi = stress_psi
        before = None
        while self.state is not before and not self.ended:
            before = self.state
            self._judges[before](t_ns, stress_psi)
        if before is not None and self.state is not READY:
            self.peak_psi = at_least(self.peak_psi or 0.0, stress_psi)
        if self.ended:
            self.rest_psi = min(stress_psi, stress_psi if self.rest_psi is None else self.rest_psi)
        return self._take_changes()

    def end(self, t_ns: int, reason: str) -> list[StateChanged]:
        """End the run here, as the operator asks."""
        self._go(Trigger.ENDED, t_ns, reason)
        return self._take_changes()

    def end_of_record(self, t_ns: int, last_psi: Collection[float]) -> list[StateChanged]:
        """Conclude that no stress follows: a load last seen released stays released.

        Args:
            t_ns: time of the last reading.
            last_psi: its last stresses as they were read, for which the filters still wait.
        """
        changes = []
        if self.state is RELEASE and max(last_psi) < self._release_psi:
            changes = self.feed(t_ns, max(last_psi))
        if self.state is RELEASE and self._released.since_ns is not None:
            self._go(Trigger.RELEASED, t_ns, "load released")
        return changes + self._take_changes()

    def _take_changes(self) -> list[StateChanged]:
        changes, self._changes = self._changes, []
        return changes

    def _in_ready(self, t_ns: int, stress_psi: float) -> None:
        if stress_psi >= self._contact_psi:
            self._go(Trigger.CONTACT, t_ns, "first contact")

    def _in_seating(self, t_ns: int, stress_psi: float) -> None:
        rules = self.plan.rules
        if stress_psi >= rules.seating_psi:
            self.ramp = RampAccount(self.plan, t_ns, stress_psi)
            self._go(Trigger.SEATED, t_ns, f"over the seating load of {rules.seating_psi:g} psi")
        elif stress_psi < rules.contact_psi / 2:
            self._go(Trigger.CONTACT_LOST, t_ns, "contact lost")

    def _in_ramp(self, t_ns: int, stress_psi: float) -> None:
        ramp = self.ramp
        assert ramp is not None  # noqa: S101 - the state says so
        ramp.feed(t_ns, stress_psi)
        self._lasting.feed(t_ns, stress_psi)
        at_target = stress_psi >= self._at_target_psi
        arrived = self._at_target.feed(t_ns, holds=at_target)
        if not at_target:
            self._arrival = None
        elif self._arrival is None:
            self._arrival = ramp.frozen(), HoldAccount(self.plan, t_ns, stress_psi)
        else:
            self._arrival[1].feed(t_ns, stress_psi)
        if arrived and self._arrival is not None:
            self.ramp, self.hold = self._arrival
            self._go(Trigger.TARGET_HELD, t_ns, "at target", since_ns=self.hold.start_ns)
        elif self._released.feed(t_ns, holds=self._fell_in_ramp(stress_psi)):
            self._go_since_release(t_ns, "load released before the target")

    def _in_hold(self, t_ns: int, stress_psi: float) -> None:
        hold = self.hold
        assert hold is not None  # noqa: S101 - the state says so
        hold.feed(t_ns, stress_psi)
        under = self._under_release(stress_psi)
        if self._released.feed(t_ns, holds=under):
            # The load was last seen up before the end of the hold, so it did not hold.
            self._go_since_release(t_ns, "load released before the hold was up")
        elif t_ns >= hold.planned_end_ns and not under:
            self._go(Trigger.HOLD_UP, t_ns, "hold is up", since_ns=hold.planned_end_ns)

    def _in_release(self, t_ns: int, stress_psi: float) -> None:
        hold = self.hold
        assert hold is not None  # noqa: S101 - the state says so
        hold.feed(t_ns, stress_psi)
        if self._released.feed(t_ns, holds=self._under_release(stress_psi)):
            self._go_since_release(t_ns, "load released")

    def _go_since_release(self, t_ns: int, reason: str) -> None:
        self._go(Trigger.RELEASED, t_ns, reason, since_ns=self._released.since_ns)

    def _under_release(self, stress_psi: float) -> bool:
        return stress_psi < self._release_psi

    def _fell_in_ramp(self, stress_psi: float) -> bool:
        # On the way up the load is also under half the target, so it must have fallen too.
        if stress_psi >= self._release_psi:
            return False
        return stress_psi < self._lasting.level - self._drop_psi or stress_psi < self._contact_psi

    def _go(self, trigger: Trigger, t_ns: int, reason: str, *, since_ns: int | None = None) -> None:
        before, self.state = self.state, next_state(self.state, trigger)
        self.reason, self.ended = reason, self.state in ENDED
        self._changes.append(
            StateChanged(
                t_ns=t_ns,
                since_ns=t_ns if since_ns is None else since_ns,
                before=before,
                after=self.state,
                reason=reason,
                stress_psi=self.stress_psi,
            )
        )
