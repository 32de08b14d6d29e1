"""The pacing: readings in, what the operator should do out; time is given, never read."""

from dataclasses import replace

from ramphold.core._accounts import HoldAccount, RampAccount, seconds
from ramphold.core._answers import AnswerWatch, said_again
from ramphold.core._bounds import at_least, at_most
from ramphold.core._cues import Cue, CueKind, PacingStart, Style
from ramphold.core._filters import Slope, SteadyMedian
from ramphold.core._learning import Learned
from ramphold.core._noise import NoiseLevel
from ramphold.core._plan import RunPlan
from ramphold.core._situation import Situation
from ramphold.core._squeeze import Squeeze
from ramphold.core._states import ENDED, HOLD, RAMP, RELEASE, RunState
from ramphold.core._strokes import Rise, Rises
from ramphold.core._stroking import Stroking

_RATE_WINDOW_S = 10.0
_SPEED_WINDOW_S = 0.5
_SLOW_WINDOW_S = 1.2
#: A slow instrument's speed needs so many of its periods.
_SPEED_PERIODS = 2.5
_LONGEST_STEP_S = 0.5
#: A valve that is opened when it is told to is seen to be after so long.
_OPENED_S = 0.9
#: At fewer than four readings a second a hand does better by the gauge alone: a tenth of the
#: readings may come late.
_SLOWEST_PACED_NS = 280_000_000
_OLDEST_CUE_S = 1.0
#: A cue stands for so long, less than any screen takes to show it: every second reading at 80/s.
_DECIDED_NS = 24_000_000
#: A rise this many times faster than the planned rate is a stroke, a slower one a pull.
_STROKE_RATES = 3.5
_TELLING_RISES = 5
#: A hand that waits for the line pulls again once this share of a stroke's worth is left.
_CAUGHT_UP = 0.5
_PULLS = {CueKind.SQUEEZE, CueKind.PULL_ON, CueKind.RETURN_LEVER, CueKind.STROKE}
_PAST_STEP_NS, _PAST_STEPS = 1_000_000_000, 4


class Pacer:
    """Paces one run; its owner keeps the run's state.

    Args:
        plan: what the run is meant to do, in what style, and what the pacing starts from.

    Attributes:
        style: how the operator pumps; may be changed at any time.
        cue: what to do as of the newest reading, or of one at most a second before it where that
            can't be believed yet; None where there is not enough to say.
        rate_psi_min: rate of the load over the last 10 s, by least squares.
        too_slow_per_s: readings a second where they are too few to pace by; None otherwise.
    """

    def __init__(self, plan: RunPlan) -> None:
        self.plan = plan
        self.style = plan.style
        self.cue: Cue | None = None
        self.rate_psi_min: float | None = None
        self.too_slow_per_s: float | None = None
        self._load = SteadyMedian()
        self._rate = Slope(_RATE_WINDOW_S)
        self._speed = Slope(_SPEED_WINDOW_S)
        self._slow = Slope(_SLOW_WINDOW_S)
        self._rises = Rises()
        self._last_ns: int | None = None
        self._state: RunState | None = None
        self._release_ns: int | None = None
        self._ceiling_psi = plan.ceiling_lbf / plan.area_in2
        self._rate_psi_s = plan.rate_psi_min / 60
        self._speeds_psi_s: list[float] = []
        #: The style that the last rises look like; None before there are enough of them.
        self.suggested_style: Style | None = None
        self._noise = NoiseLevel()
        self._past_ns = 0
        #: The steadied load of the last seconds, one a second, the newest first.
        self.past_psi: tuple[float, ...] = ()
        self._learned = Learned(plan.pacing)
        self._answers = AnswerWatch(plan)
        self._squeeze = Squeeze(plan, self._learned, self._answers)
        self._stroking = Stroking(self._learned, self._squeeze, self._answers)
        self._far_ahead = False

    def feed(  # noqa: PLR0913 - a reading and the accounts of its run
        self,
        t_ns: int,
        stress_psi: float,
        state: RunState,
        *,
        ramp: RampAccount | None = None,
        hold: HoldAccount | None = None,
        period_ns: int = 0,
        jumps: bool = False,
        darts: bool = False,
    ) -> None:
        """Take a raw reading as a stress, and the state of the run after it.

        Args:
            t_ns: time of the reading.
            stress_psi: the stress.
            state: the run's state.
            ramp: account of its ramp, once that began.
            hold: account of its hold, once that began.
            period_ns: usual time between two readings; 0 where it is not known.
            jumps: whether the reading can't be believed, since no press moves so fast.
            darts: whether it can't be where the load is squeezed, since no squeeze does.
        """
        if state in ENDED:
            self.cue = None
            return
        believed = not (jumps or (darts and self._is_squeezed(state)))
        steadied = self._steady(t_ns, stress_psi, period_ns) if believed else None
        if steadied is None:
            if self.cue is not None and seconds(t_ns - self.cue.t_ns) > _OLDEST_CUE_S:
                self.cue = None
            return
        speeds_psi_s = self._move(*steadied, state)
        if self._stands(t_ns, steadied[1], state):
            return
        self._state = state
        now = self._situation(t_ns, steadied, speeds_psi_s, state, ramp=ramp, hold=hold)
        self.too_slow_per_s = 1e9 / period_ns if period_ns > _SLOWEST_PACED_NS else None
        self.cue = self._worked_out(now)

    def _worked_out(self, now: Situation) -> Cue | None:
        if now.state is RELEASE:
            return self._release(now)
        self._last_ns = now.t_ns
        if self.too_slow_per_s is not None:
            return None
        pacing = self._squeeze if self.style is Style.SQUEEZE else self._stroking
        cue = self._let_line_catch_up(now, pacing.cue(now, self._noise.sd))
        return None if self._answers.silent else cue

    def _stands(self, t_ns: int, stress_psi: float, state: RunState) -> bool:
        """Whether the newest cue need not be worked out anew yet."""
        changed = state is not self._state or stress_psi >= self._ceiling_psi
        return not changed and t_ns - (self._last_ns or 0) < _DECIDED_NS

    def _let_line_catch_up(self, now: Situation, cue: Cue) -> Cue:
        """No pull is asked for while the load is ahead of the line by over a stroke's worth."""
        if now.state is not RAMP:
            self._far_ahead = False
            return cue
        worth_psi = self._learned.gain_psi(now.stress_psi) * (_CAUGHT_UP if self._far_ahead else 1)
        self._far_ahead = now.stress_psi - now.line_psi(0.0) > worth_psi
        if not self._far_ahead or cue.kind not in _PULLS:
            return cue
        line_psi = now.line_psi(self._learned.delay_s)
        return Cue(
            t_ns=now.t_ns, kind=CueKind.WAIT, mark_psi=line_psi, load_psi=now.stress_psi,
            after_psi=cue.after_psi, near_ceiling=cue.near_ceiling,
        )  # fmt: skip

    def _release(self, now: Situation) -> Cue:
        """To open the valve; in another word where nobody has."""
        if self._release_ns is None:
            self._release_ns = now.t_ns
        over_s = seconds(now.t_ns - self._release_ns) - _OPENED_S
        again = said_again(over_s) and now.speed_psi_s > -now.rate_psi_s
        kind = CueKind.OPEN_VALVE if again else CueKind.RELEASE
        return Cue(t_ns=now.t_ns, kind=kind, due_s=0.0)

    def _is_squeezed(self, state: RunState) -> bool:
        squeezing = state is RAMP and self.style is Style.SQUEEZE
        return state is HOLD or squeezing

    def _steady(self, t_ns: int, stress_psi: float, period_ns: int) -> tuple[int, float] | None:
        if period_ns != self._load.period_ns:
            self._load.period_ns = period_ns
            needed_s = _SPEED_PERIODS * period_ns / 1e9
            self._speed.widen(at_least(_SPEED_WINDOW_S, needed_s))
            self._slow.widen(at_least(_SLOW_WINDOW_S, needed_s))
        steadied = self._load.feed(t_ns, stress_psi)
        if steadied is not None:
            self._noise.feed(stress_psi)
            self._keep(*steadied)
        return steadied

    def _move(self, seen_ns: int, psi: float, state: RunState) -> tuple[float, float]:
        """How fast the steadied load moves, over a short time and over a longer one, in psi/s."""
        slope = self._rate.feed(seen_ns, psi)
        self.rate_psi_min = None if slope is None else slope * 60
        speed = self._speed.feed(seen_ns, psi)
        slow = self._slow.feed(seen_ns, psi)
        rise = self._rises.feed(seen_ns, psi)
        if rise is not None:
            self._rose(rise, state)
        return speed or 0.0, slow or speed or 0.0

    def _situation(  # noqa: PLR0913 - a reading and the accounts of its run
        self,
        t_ns: int,
        steadied: tuple[int, float],
        speeds_psi_s: tuple[float, float],
        state: RunState,
        *,
        ramp: RampAccount | None,
        hold: HoldAccount | None,
    ) -> Situation:
        (seen_ns, psi), (speed_psi_s, slow_psi_s) = steadied, speeds_psi_s
        return Situation(
            plan=self.plan,
            ceiling_psi=self._ceiling_psi,
            rate_psi_s=self._rate_psi_s,
            t_ns=t_ns,
            lag_s=seconds(t_ns - seen_ns),
            since_last_s=at_most(seconds(t_ns - (self._last_ns or t_ns)), _LONGEST_STEP_S),
            period_s=seconds(self._load.period_ns),
            stress_psi=psi,
            speed_psi_s=speed_psi_s,
            slow_psi_s=slow_psi_s,
            speed_noise_psi_s=self._noise.sd * self._speed.noise_factor,
            state=state,
            ramp=ramp,
            to_go_s=None if hold is None else seconds(hold.planned_end_ns - t_ns),
            rising_since_ns=self._rises.rising_since_ns,
            gains=self._rises.gains(seen_ns, self._load.period_ns),
        )

    @property
    def learned(self) -> PacingStart:
        """What the next run by this hand on this press may start from."""
        guide, top_ups = self._squeeze.guide, self._squeeze.top_ups
        return replace(
            self._learned.start,
            follow_per_s=guide.gain_per_s,
            base_pace=guide.base_pace,
            top_up_per_s=top_ups.per_s,
        )

    @property
    def silent(self) -> bool:
        """Whether the load does not answer what was cued; no cue is given until it does."""
        return self._answers.silent

    @property
    def unanswered_s(self) -> float:
        """Longest time that the load did not answer, in s."""
        return self._answers.longest_s

    def _keep(self, seen_ns: int, psi: float) -> None:
        if not self.past_psi or seen_ns - self._past_ns >= _PAST_STEP_NS:
            self._past_ns = seen_ns
            self.past_psi = (psi, *self.past_psi)[:_PAST_STEPS]

    def _rose(self, rise: Rise, state: RunState) -> None:
        if state is RAMP and rise.lasted_s:
            speed_psi_s = (rise.after_psi - rise.before_psi) / rise.lasted_s
            self._speeds_psi_s = [*self._speeds_psi_s, speed_psi_s][-_TELLING_RISES:]
            self.suggested_style = self._looks_like()
        (self._squeeze if self.style is Style.SQUEEZE else self._stroking).rose(rise)

    def _looks_like(self) -> Style | None:
        if len(self._speeds_psi_s) < _TELLING_RISES:
            return None
        middle = sorted(self._speeds_psi_s)[_TELLING_RISES // 2]
        fast = middle > _STROKE_RATES * self.plan.rate_psi_min / 60
        return Style.STROKES if fast else Style.SQUEEZE
