"""What a cue rests on at one reading: the steadied load, the run's state and its ramp line."""

from msgspec import Struct

from ramphold.core._accounts import RampAccount, seconds
from ramphold.core._bounds import at_most
from ramphold.core._plan import RunPlan
from ramphold.core._states import RunState

_COUNTDOWN_S = 5.0


class Situation(Struct, frozen=True, kw_only=True):
    """The load and the state of the run as of one reading.

    Attributes:
        plan: what the run is meant to do; `ceiling_psi` is its ceiling as a stress, and
            `rate_psi_s` its rate in psi/s.
        t_ns: time of the reading, and `lag_s` how much older the steadied load is.
        since_last_s: time since the reading before it, at most half a second.
        period_s: usual time between two readings; 0 where it is not known.
        stress_psi: the steadied load.
        speed_psi_s: how fast it changes, over the last half second.
        slow_psi_s: the same over the last second and a half, with less of a lever's slips in it.
        speed_noise_psi_s: standard deviation of that speed by the noise of the readings alone.
        state: state of the run, `ramp` its ramp, and `to_go_s` what is left of its hold.
        rising_since_ns: when the present rise began; None while the load rests.
        gains: whether that rise has gained in the last readings; how it ends is seen a while later.
    """

    plan: RunPlan
    ceiling_psi: float
    rate_psi_s: float
    t_ns: int
    lag_s: float
    since_last_s: float
    period_s: float
    stress_psi: float
    speed_psi_s: float
    slow_psi_s: float
    speed_noise_psi_s: float
    state: RunState
    ramp: RampAccount | None
    to_go_s: float | None
    rising_since_ns: int | None
    gains: bool

    def line_psi(self, in_s: float) -> float:
        """Where the ramp line will be `in_s` from now; it ends at the target."""
        if self.ramp is None:
            return self.plan.rules.seating_psi
        climbed = self.rate_psi_s * (seconds(self.t_ns - self.ramp.start_ns) + in_s)
        return at_most(self.ramp.start_psi + climbed, self.plan.target_psi)

    @property
    def countdown_s(self) -> float | None:
        """Time until the hold is up, in its last seconds."""
        if self.to_go_s is None or self.to_go_s >= _COUNTDOWN_S:
            return None
        # The end of a hold may pass in a gap; the run knows it a reading later.
        return max(self.to_go_s, 0.0)
