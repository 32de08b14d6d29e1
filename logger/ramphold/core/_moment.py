"""All that a cue rests on at one moment."""

from dataclasses import dataclass

from ramphold.core._accounts import RampAccount, seconds
from ramphold.core._plan import RunPlan
from ramphold.core._states import RunState

#: Where the load is led to: a little over the target, so that its sag stays in the band.
_AIM = 1.003


@dataclass(slots=True, kw_only=True)
class Moment:
    """The load and the run's standing as of one reading.

    Attributes:
        t_ns: time of the reading, and `seen_ns` the time that the steadied load belongs to.
        since_last_s: time since the reading before it, at most half a second.
        stress_psi: the steadied load.
        speed_psi_s: how fast it changes, over the last half second.
        state: where the run stands, `ramp` its ramp, and `to_go_s` what is left of its hold.
        rising_since_ns: when the rise now going on began; None while the load rests.
    """

    plan: RunPlan
    t_ns: int
    seen_ns: int
    since_last_s: float
    stress_psi: float
    speed_psi_s: float
    state: RunState
    ramp: RampAccount | None
    to_go_s: float | None
    rising_since_ns: int | None

    @property
    def lag_s(self) -> float:
        """How old the steadied load is, in s."""
        return seconds(self.t_ns - self.seen_ns)

    @property
    def aim_psi(self) -> float:
        """Where the load is led to."""
        return min(self.plan.target_psi * _AIM, (self.plan.target_psi + self.ceiling_psi) / 2)

    @property
    def ceiling_psi(self) -> float:
        """The plan's ceiling as a stress."""
        return self.plan.ceiling_lbf / self.plan.area_in2

    @property
    def rate_psi_s(self) -> float:
        """The planned rate in psi/s."""
        return self.plan.rate_psi_min / 60

    def line_psi(self, in_s: float) -> float:
        """Where the ramp line will be `in_s` from now, led on to the aim."""
        if self.ramp is None:
            return self.plan.rules.seating_psi
        climbed = self.rate_psi_s * (seconds(self.t_ns - self.ramp.start_ns) + in_s)
        return min(self.ramp.start_psi + climbed, self.aim_psi)
