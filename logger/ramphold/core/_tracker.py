"""Follows one run: readings, commands and deadlines in; events, snapshots and a verdict out.

The time is passed in, so that a recorded run gives the same events when fed again.
"""

from collections import deque

from ramphold.core._accounts import MedianOfThree, seconds
from ramphold.core._assessment import Assessment, assess
from ramphold.core._bounds import at_least
from ramphold.core._cadence import Cadence
from ramphold.core._commands import (
    Acknowledge,
    ChooseStyle,
    Command,
    EndRun,
    NotRecorded,
    RecordedAgain,
    TakeUp,
    TimePassed,
)
from ramphold.core._cues import Cue, PacingStart
from ramphold.core._events import (
    CueGiven,
    Event,
    HandLearned,
    ReadingsLost,
    ReadingsResumed,
    RunTakenUp,
    StyleChosen,
)
from ramphold.core._filters import JumpGate, SlowGate
from ramphold.core._pacing import Pacer
from ramphold.core._pacing_start import CueCount
from ramphold.core._plan import RunPlan
from ramphold.core._readings import Reading
from ramphold.core._snapshot import Snapshot
from ramphold.core._state_machine import StateMachine
from ramphold.core._states import COMPLETE, HOLD, RAMP, RunState
from ramphold.core._warnings import Warnings
from ramphold.errors import CommandRefused

_CLOSE_NS = 250_000_000
#: A load that fell at once to less than this share of the target was let go.
_LET_GO = 0.25
#: Where the hand leads the load; elsewhere it may be let go at once.
_LED = (RAMP, HOLD)


class Tracker:
    """Follows one run.

    Args:
        plan: the plan of the run.
        t_ns: its start, in monotonic ns.
    """

    def __init__(self, plan: RunPlan, *, t_ns: int) -> None:
        self.plan = plan
        self._area_in2, self._target_lbf = plan.area_in2, plan.target_lbf
        self._course = StateMachine(plan)
        self._median = MedianOfThree()
        self._gate = JumpGate()
        self._slow_gate = SlowGate(plan.target_psi)
        self._cadence = Cadence(round(plan.rules.stale_s * 1e9))
        self._doubted: list[tuple[int, float]] = []
        self._withheld = False
        self._judged_ns = t_ns
        self._jumps = 0
        self._last_psi: deque[float] = deque(maxlen=2)
        self._pacer = Pacer(plan)
        self._cue_count = CueCount()
        self._handed_on = False
        self._warnings = Warnings(plan)
        self._events: list[Event] = []
        self._t_ns = self._seen_ns = t_ns
        self._reading_ns: int | None = None
        self._stale = False
        self._longest_gap_s: float | None = None

    @property
    def state(self) -> RunState:
        """The state of the run."""
        return self._course.state

    @property
    def ended(self) -> bool:
        """Whether the run is over."""
        return self._course.ended

    # --- inputs ----------------------------------------------------------------------------

    def feed(self, reading: Reading) -> list[Event]:
        """Process a reading. One that is older than the newest input is ignored."""
        if reading.t_ns < self._t_ns:
            return []
        t_ns = self._t_ns = reading.t_ns
        self._pass_deadline(t_ns)
        if reading.usable:
            stress_psi = reading.force_lbf / self._area_in2
            close = t_ns - self._seen_ns < _CLOSE_NS
            self._seen(t_ns)
            believed = self._gate.feed(t_ns, stress_psi)
            slowly = self._slow_gate.feed(t_ns, stress_psi)
            self._follow(t_ns, stress_psi, close=close, believed=believed, slowly=slowly)
            self._pace(t_ns, stress_psi, believed=believed, slowly=slowly)
        self._events += self._warnings.feed(reading, self._course.state)
        return self._take_events()

    def command(self, command: Command, t_ns: int) -> list[Event]:
        """Process a command; one older than the newest input counts as of now.

        Raises:
            CommandRefused: the run has ended.
        """
        match command:
            case TimePassed():
                return self.handle_deadline(t_ns)
            case Acknowledge():
                return self._acknowledge(t_ns)
            case _ if self.ended:
                raise CommandRefused(f"this run is already {self.state}")
        self._t_ns = max(t_ns, self._t_ns)
        self._pass_deadline(self._t_ns)
        match command:
            case EndRun():
                self._events += self._course.end(self._t_ns, f"ended: {command.reason}")
            case ChooseStyle():
                self._pacer.style = command.style
                self._events.append(StyleChosen(t_ns=self._t_ns, style=command.style))
            case TakeUp():
                gap_s = seconds(self._t_ns - self._seen_ns)
                self._events.append(RunTakenUp(t_ns=self._t_ns, gap_s=gap_s))
            case NotRecorded() | RecordedAgain():
                kept = isinstance(command, RecordedAgain)
                self._events += self._warnings.recorded(self._t_ns, kept=kept)
        return self._take_events()

    def _acknowledge(self, t_ns: int) -> list[Event]:
        # Allowed after the end too: latched warnings stay until acknowledged.
        self._events += self._warnings.acknowledge(max(t_ns, self._t_ns))
        return self._take_events()

    @property
    def next_deadline(self) -> int | None:
        """When `handle_deadline` must be called if no reading comes before, in ns."""
        if self._stale or self._course.ended:
            return None
        return self._seen_ns + self._cadence.stale_ns

    def handle_deadline(self, now_ns: int) -> list[Event]:
        """Advance to `now_ns` without a reading."""
        self._pass_deadline(now_ns)
        return self._take_events()

    def end_of_record(self) -> list[Event]:
        """Conclude that no reading follows: a load seen released twice stays released."""
        self._events += self._course.end_of_record(self._t_ns, self._last_psi)
        return self._take_events()

    # --- outputs ---------------------------------------------------------------------------

    def snapshot(self) -> Snapshot:
        """The run as of its newest reading."""
        plan, course = self.plan, self._course
        stress, ramp, hold, peak = course.stress_psi, course.ramp, course.hold, course.peak_psi
        line = ramp.line_psi(self._t_ns) if ramp else None
        return Snapshot(
            t_ns=self._t_ns,
            reading_t_ns=self._reading_ns,
            state=course.state,
            reason=course.reason,
            force_lbf=None if stress is None else stress * self._area_in2,
            stress_psi=stress,
            target_psi=plan.target_psi,
            target_lbf=self._target_lbf,
            ceiling_lbf=plan.ceiling_lbf,
            rating_lbf=plan.rating_lbf,
            line_psi=line,
            deviation_psi=None if line is None or stress is None else stress - line,
            rate_psi_min=self._pacer.rate_psi_min,
            # Without a load there is no basis for a cue.
            cue=None if self._stale else self._pacer.cue,
            style=self._pacer.style,
            suggested_style=self._pacer.suggested_style,
            warnings=self._warnings.standing,
            past_psi=self._pacer.past_psi,
            ramp_s=seconds(self._t_ns - ramp.start_ns) if ramp else None,
            hold_s=hold.held_s if hold else None,
            hold_to_go_s=at_least(seconds(hold.planned_end_ns - self._t_ns), 0.0) if hold else None,
            out_of_band_s=hold.out_of_band_s if hold else 0.0,
            peak_lbf=None if peak is None else peak * self._area_in2,
            stale=self._stale,
            rest_lbf=None if course.rest_psi is None else course.rest_psi * self._area_in2,
            too_slow_per_s=self._pacer.too_slow_per_s,
        )

    @property
    def learned(self) -> PacingStart:
        """What the pacing has learned of press and hand, to start the next run from."""
        return self._pacer.learned

    def assess(self) -> Assessment:
        """Judge the run as it is now; final after its end."""
        return assess(
            self.plan,
            self._course.state,
            ramp=self._course.ramp,
            hold=self._course.hold,
            peak_psi=self._course.peak_psi,
            longest_gap_s=self._longest_gap_s,
            unanswered_s=self._pacer.unanswered_s,
            jumps=self._jumps,
        )

    # --- inside ----------------------------------------------------------------------------

    def _take_events(self) -> list[Event]:
        if self._course.state is COMPLETE and not self._handed_on:
            self._handed_on = True
            self._hand_on()
        events, self._events = self._events, []
        return events

    def _hand_on(self) -> None:
        """Say what was learned, if the load could be believed and somebody saw the cues."""
        silent = self._pacer.unanswered_s > self.plan.limits.unanswered_s
        if self.plan.cued and self._cue_count.cues and not silent and not self._jumps:
            self._events.append(
                HandLearned(
                    t_ns=self._t_ns,
                    start=self.learned,
                    cues=self._cue_count.cues,
                    said_again=self._cue_count.said_again,
                )
            )

    def _follow(
        self, t_ns: int, stress_psi: float, *, close: bool, believed: bool, slowly: bool
    ) -> None:
        # A spike of two readings would pass the median. Readings far apart are not doubted: in a
        # coarse recording the load may have gone anywhere between them.
        self._last_psi.append(stress_psi)
        if close and not believed:
            self._withheld = True
            return
        if self._gate.jumped and close and self.state in _LED and not self._let_go(stress_psi):
            self._events += self._warnings.jumped(t_ns, stress_psi * self._area_in2)
            self._jumps += 1
        if close and not slowly and self._course.state is HOLD:
            self._doubted.append((t_ns, stress_psi))
            return
        # What was doubted and is now borne out happened when it was read.
        doubted, self._doubted = self._doubted, []
        if self._slow_gate.convinced:
            for then_ns, then_psi in doubted:
                self._judge(then_ns, then_psi)
        self._judge(t_ns, stress_psi)

    def _let_go(self, stress_psi: float) -> bool:
        """Whether a load that fell at once is that of a valve thrown open."""
        low_psi = _LET_GO * self.plan.target_psi
        return stress_psi < low_psi and stress_psi < (self._course.stress_psi or 0.0)

    def _judge(self, t_ns: int, stress_psi: float) -> None:
        steadied_psi = self._median.feed(stress_psi)
        # After a jump the median is still of before it, and so is the time that it belongs to.
        late, self._withheld = self._withheld and steadied_psi != stress_psi, False
        self._judged_ns = self._judged_ns if late else t_ns
        if steadied_psi is not None:
            self._events += self._course.feed(self._judged_ns, steadied_psi)

    def _pace(self, t_ns: int, stress_psi: float, *, believed: bool, slowly: bool) -> None:
        course, before = self._course, self._pacer.cue
        self._pacer.feed(
            t_ns,
            stress_psi,
            course.state,
            ramp=course.ramp,
            hold=course.hold,
            period_ns=self._cadence.period_ns,
            jumps=not believed,
            darts=not slowly,
        )
        cue = self._pacer.cue
        self._warn_of_cue(t_ns, cue)
        if cue and (before is None or (before.kind, before.size) != (cue.kind, cue.size)):
            stress, ramp = course.stress_psi, course.ramp
            self._cue_count.feed(cue.kind)
            self._events.append(
                CueGiven(
                    t_ns=cue.t_ns,
                    kind=cue.kind,
                    size=cue.size,
                    after_psi=cue.after_psi,
                    deviation_psi=None
                    if ramp is None or stress is None
                    else stress - ramp.line_psi(cue.t_ns),
                )
            )

    def _warn_of_cue(self, t_ns: int, cue: Cue | None) -> None:
        """Whether the load answers what is cued, and whether the ceiling limits what is."""
        # What has ended is paced no further, so its load is asked for nothing.
        silent = self._pacer.silent and self.plan.cued and not self.ended
        refused = cue is not None and cue.near_ceiling
        if silent or refused or self._warnings.stand:
            force_lbf = (self._course.stress_psi or 0.0) * self._area_in2
            self._events += self._warnings.answer(t_ns, force_lbf, silent=silent)
            after_lbf = ((cue and cue.after_psi) or 0.0) * self._area_in2
            self._events += self._warnings.expect(t_ns, after_lbf, refused=refused)

    def _pass_deadline(self, now_ns: int) -> None:
        due_ns = self.next_deadline
        if due_ns is not None and now_ns >= due_ns:
            # Stamped when it was due, not when it was noticed, so that a replay agrees.
            self._stale = True
            self._events.append(ReadingsLost(t_ns=due_ns, since_ns=self._seen_ns))
            self._events += self._warnings.lost(due_ns)

    def _seen(self, t_ns: int) -> None:
        gap_s = seconds(t_ns - self._seen_ns)
        if self._reading_ns is not None:
            self._cadence.feed(t_ns - self._seen_ns)
        if self._stale:
            self._stale = False
            # Readings before a gap say nothing about the load after it.
            self._median, self._doubted = MedianOfThree(), []
            self._events.append(ReadingsResumed(t_ns=t_ns, gap_s=gap_s))
        if self._course.ramp and not self._course.ended:
            self._longest_gap_s = at_least(self._longest_gap_s or 0.0, gap_s)
        self._reading_ns = self._seen_ns = t_ns
