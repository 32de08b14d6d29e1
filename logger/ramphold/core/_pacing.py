"""The pacing: readings in, what the operator should do out; time is given, never read."""

from ramphold.core._accounts import HoldAccount, RampAccount, seconds
from ramphold.core._cues import Cue, CueKind, Style
from ramphold.core._filters import Slope, SteadyLoad
from ramphold.core._learning import Learned
from ramphold.core._moment import Moment
from ramphold.core._plan import RunPlan
from ramphold.core._squeeze import Squeeze
from ramphold.core._states import ENDED, RunState
from ramphold.core._strokes import Rise, Rises
from ramphold.core._stroking import Stroking

__all__ = ["Pacer"]

_RATE_WINDOW_S = 10.0
_SPEED_WINDOW_S = 0.5
_LONGEST_STEP_S = 0.5
_OLDEST_CUE_S = 1.0
#: A rise this many times faster than the planned rate is a stroke, a slower one a pull.
_STROKE_RATES = 3.5
_TELLING_RISES = 5


class Pacer:
    """Paces one run; its owner keeps the run's state.

    Args:
        plan: what the run is meant to do, in what style, and what the pacing starts from.

    Attributes:
        style: how the operator pumps; may be changed at any time.
        cue: what to do as of the newest reading, or of one at most a second before it where that
            can't be believed yet; None where there is not enough to say.
        rate_psi_min: rate of the load over the last 10 s, by least squares.
    """

    def __init__(self, plan: RunPlan) -> None:
        self.plan = plan
        self.style = plan.style
        self.cue: Cue | None = None
        self.rate_psi_min: float | None = None
        self._load = SteadyLoad()
        self._rate = Slope(_RATE_WINDOW_S)
        self._speed = Slope(_SPEED_WINDOW_S)
        self._rises = Rises()
        self._last_ns: int | None = None
        self._speeds_psi_s: list[float] = []
        learned = Learned(plan.pacing)
        self._squeeze = Squeeze(learned)
        self._stroking = Stroking(learned, self._squeeze)

    @property
    def suggested_style(self) -> Style | None:
        """The style that the last rises look like; None before there are enough of them."""
        if len(self._speeds_psi_s) < _TELLING_RISES:
            return None
        middle = sorted(self._speeds_psi_s)[_TELLING_RISES // 2]
        fast = middle > _STROKE_RATES * self.plan.rate_psi_min / 60
        return Style.STROKES if fast else Style.SQUEEZE

    def feed(
        self,
        t_ns: int,
        stress_psi: float,
        state: RunState,
        *,
        ramp: RampAccount | None = None,
        hold: HoldAccount | None = None,
    ) -> None:
        """Take a raw reading as a stress, and where the run stands after it."""
        if state in ENDED:
            self.cue = None
            return
        steadied = self._load.feed(t_ns, stress_psi)
        if steadied is None:
            if self.cue is not None and seconds(t_ns - self.cue.t_ns) > _OLDEST_CUE_S:
                self.cue = None
            return
        seen_ns, psi = steadied
        slope = self._rate.feed(seen_ns, psi)
        self.rate_psi_min = None if slope is None else slope * 60
        speed = self._speed.feed(seen_ns, psi)
        rise = self._rises.feed(seen_ns, psi)
        if rise is not None:
            self._rose(rise, state)
        if state is RunState.RELEASE:
            self.cue = Cue(t_ns=t_ns, kind=CueKind.RELEASE, due_s=0.0)
            return
        now = Moment(
            plan=self.plan,
            t_ns=t_ns,
            seen_ns=seen_ns,
            since_last_s=min(seconds(t_ns - (self._last_ns or t_ns)), _LONGEST_STEP_S),
            stress_psi=psi,
            speed_psi_s=speed or 0.0,
            state=state,
            ramp=ramp,
            to_go_s=None if hold is None else seconds(hold.planned_end_ns - t_ns),
            rising_since_ns=self._rises.rising_since_ns,
        )
        self._last_ns = t_ns
        self.cue = (self._squeeze if self.style is Style.SQUEEZE else self._stroking).cue(now)

    def _rose(self, rise: Rise, state: RunState) -> None:
        if state is RunState.RAMP and rise.lasted_s:
            speed_psi_s = (rise.after_psi - rise.before_psi) / rise.lasted_s
            self._speeds_psi_s = [*self._speeds_psi_s, speed_psi_s][-_TELLING_RISES:]
        (self._squeeze if self.style is Style.SQUEEZE else self._stroking).rose(rise)
