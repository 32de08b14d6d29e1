"""Cues for a slow continuous pull that follows a moving mark, and for the hold in either style."""

import math
from enum import Enum, auto

from ramphold.core._accounts import seconds
from ramphold.core._answers import AnswerWatch, said_again
from ramphold.core._bounds import at_least, at_most, between
from ramphold.core._cues import Cue, CueKind
from ramphold.core._guide import Guide
from ramphold.core._learning import Learned
from ramphold.core._lever import LeverUse
from ramphold.core._near_ceiling import is_near
from ramphold.core._plan import RunPlan
from ramphold.core._situation import Situation
from ramphold.core._stalls import LEAST_PACE, MOST_PACE, Stall
from ramphold.core._states import HOLD, RAMP, READY, SEATING
from ramphold.core._strokes import Rise
from ramphold.core._top_ups import TopUp, TopUps, least_psi

#: Where the load is led to, as shares of the target: over it at first, since a bed sags most
#: just after the ramp. A top-up ends under it: eyes that are elsewhere stop a pull a second late.
_FIRST_AIM, _TOP_UP_AIM = 1.0025, 1.0
#: The predicted first rest stays under this with two deviations to spare.
_STAY_UNDER = 1.01
#: A top-up is called when the load is about to be under this.
_TOP_UP_AT = 0.9935
#: Under this it is worth topping up even when the hold is nearly over.
_LAST_TOP_UP = 0.985
#: A load at rest that is under this in the ramp is led up the line again.
_FAR_UNDER = 0.97
_NEARLY_UP_S = 2.5
#: The pace of a top-up, as a share of an even pull.
_TOP_UP_PACE = 0.6
#: An error is to be worked off in about the inverse of this.
_CLOSE_PER_S = 0.85
#: The pace falls so that the last of the way takes this long.
_APPROACH_S = 1.2
#: Half of what a lever return costs is best had in hand before it.
_AHEAD_OF_RETURN_S = 0.6
#: What is uncertain of a rest: the hand's delay, and the travel that a lever moves in, in strokes.
_DELAY_SD_S, _GRAIN = 0.12, 0.006
_STILL = 0.08
_NOISES = 2.5
_SLIPPING = 0.25
_PAUSED_S, _SLOW_LATE_S = 0.7, 0.6
#: A pause after so much travel may be a return of the lever, any after so long a rest.
_LIKELY, _RESTING_S = 0.3, 1.0
#: A pull is seen so long after it began; a top-up may take so much longer than expected.
_SEEN_S, _LONGER = 0.3, 2.5
_COMES_TO_REST_S = 1.5
_FASTER_PER_S = 0.5
_SAG_S, _MOST_SAG, _CREEP = 1.0, 0.005, 0.1
_WHERE_COUNTED_PSI = 3000.0
_LEAST_TOP_UP_GAIN, _AHEAD_S = 0.8, (1.0, 2.0, 3.0, 4.0)


class _Phase(Enum):
    FOLLOW = auto()
    REST = auto()
    TOP_UP = auto()


_FOLLOW, _REST, _TOP_UP = _Phase  # by themselves, as in `_states`


class Squeeze:
    """Leads the load along the line to the aim, stops it there, and keeps it there.

    Attributes:
        guide, top_ups: what is learned of the hand that follows, and of the one that tops up.
    """

    def __init__(self, plan: RunPlan, learned: Learned, answers: AnswerWatch) -> None:
        self._learned = learned
        self._answers = answers
        self.guide = Guide(plan.rate_psi_min / 60, plan.pacing)
        self.top_ups = TopUps(plan.pacing.top_up_per_s)
        self._lever = LeverUse()
        self._stall = Stall(answers)
        self._phase = _FOLLOW
        self._told_ns: int | None = None
        self._returned_ns: int | None = None
        self._topped: TopUp | None = None
        self._sag_psi_s = 0.0
        self._aimed: tuple[int, _Phase, float] = (0, _REST, 0.0)

    def rose(self, rise: Rise) -> None:
        """Take a rise that has ended: the hand's answer if it had been told to stop."""
        for told_ns in (self._told_ns, self._returned_ns):
            if told_ns is not None and rise.start_ns < told_ns:
                self._learned.answer(seconds(rise.end_ns - told_ns))
                self._told_ns = self._told_ns if told_ns == self._told_ns else None
        self._returned_ns = None

    def cue(self, now: Situation, noise_psi: float) -> Cue:
        """What to do now."""
        load_psi = now.stress_psi + now.speed_psi_s * (now.lag_s + self._learned.delay_s)
        rest_psi = at_least(load_psi, now.stress_psi)
        self._decide(now, load_psi, rest_psi, noise_psi)
        following = self._phase is _FOLLOW
        aim_psi = self._aim_psi(now)
        back = self._lever.follow(
            now,
            self._learned.gain_psi(now.stress_psi),
            noise_psi,
            short_psi=aim_psi - now.stress_psi,
            pulling=self._phase is not _REST,
        )
        if back and self._returned_ns is None:
            self._returned_ns = now.t_ns
        line_psi = now.line_psi(0.0)
        # Where the line has ended the hand pulls on to the aim.
        ended = line_psi >= now.plan.target_psi
        behind = ended or line_psi > now.stress_psi or now.state is SEATING
        asked = following and behind and not back and now.state is not READY
        self._answers.feed(now, noise_psi, asked=asked)
        pace_psi_s = self._pace_psi_s(now, load_psi, aim_psi)
        mark_psi = self._mark_psi(now, load_psi, aim_psi, pace_psi_s, back=back)
        return Cue(
            t_ns=now.t_ns,
            kind=self._kind(now, back=back),
            due_s=now.countdown_s,
            after_psi=rest_psi,
            mark_psi=mark_psi,
            load_psi=load_psi,
            ahead_psi=self._ahead_psi(now, mark_psi, aim_psi),
            pace=None if pace_psi_s is None else pace_psi_s / now.rate_psi_s,
            near_ceiling=self._near_ceiling(now),
        )

    # --- when to pull ----------------------------------------------------------------------

    def _decide(self, now: Situation, load_psi: float, rest_psi: float, noise_psi: float) -> None:
        """Whether the hand should follow the line, rest, or top up."""
        if self._phase is _FOLLOW:
            # A hand that stopped at the target by itself is at rest there.
            stopped = now.state is HOLD and self._answers.stalled_s > _PAUSED_S
            there = stopped and rest_psi >= _TOP_UP_AT * now.plan.target_psi
            if there or rest_psi >= self._aim_psi(now):
                self._rest(now)
        elif self._phase is _TOP_UP:
            self._watch_top_up(now, rest_psi, noise_psi)
        else:
            self._watch_rest(now, load_psi, rest_psi, noise_psi)

    def _rest(self, now: Situation) -> None:
        self._phase, self._told_ns = _REST, now.t_ns
        self.guide.interrupt(now.t_ns)

    def _watch_rest(
        self, now: Situation, load_psi: float, rest_psi: float, noise_psi: float
    ) -> None:
        target_psi = now.plan.target_psi
        settled = self._since_told_s(now) >= self._learned.delay_s + now.lag_s + _SEEN_S
        if settled and now.state is HOLD:
            # Only what is more than a bed's own creep, or than noise, matters.
            sag_psi_s = between(-now.slow_psi_s - _CREEP * now.rate_psi_s, 0.0, now.rate_psi_s)
            self._sag_psi_s += (sag_psi_s - self._sag_psi_s) * now.since_last_s / _SAG_S
        if self._topped is not None:
            self._topped.feed(now.t_ns, now.stress_psi)
            if settled and now.speed_psi_s <= self._still_psi_s(now):
                self._judge_top_up(self._topped, now, noise_psi)
                self._topped = None
        if now.state is RAMP and rest_psi < _FAR_UNDER * target_psi:
            self._phase = _FOLLOW
            return
        nearly_up = now.to_go_s is not None and now.to_go_s < _NEARLY_UP_S
        level_psi = _TOP_UP_AT * target_psi + min(self._sag_psi_s * _SAG_S, _MOST_SAG * target_psi)
        if nearly_up:
            level_psi = _LAST_TOP_UP * target_psi
        aim_psi = self._aim_psi(now)
        will_psi = now.stress_psi + now.slow_psi_s * (now.lag_s + self._learned.delay_s)
        sinks = will_psi < level_psi and rest_psi < aim_psi
        if settled and self._topped is None and sinks:
            gain_psi = self._learned.gain_psi(now.stress_psi)
            lasts_s = self.top_ups.lasts_s(aim_psi - load_psi, gain_psi)
            self._topped = TopUp(now.t_ns, now.stress_psi, lasts_s, -now.speed_psi_s)
            self._phase = _TOP_UP

    def _watch_top_up(self, now: Situation, rest_psi: float, noise_psi: float) -> None:
        topped = self._topped
        assert topped is not None  # noqa: S101 - set with the phase
        topped.feed(now.t_ns, now.stress_psi)
        up_s = seconds(now.t_ns - topped.start_ns)
        # A fast hand has to be stopped before its pull is seen; a slow one is stopped by sight.
        seen_s = self._learned.delay_s + now.lag_s + _SEEN_S
        most_s = topped.lasts_s if topped.lasts_s < seen_s else _LONGER * topped.lasts_s
        gain_psi = self._learned.gain_psi(now.stress_psi)
        asked_psi = (up_s - seen_s) * self.top_ups.psi_s(gain_psi)
        nothing = max(topped.gained_psi, topped.kept_psi) < least_psi(noise_psi)
        if up_s > seen_s and nothing and self._answers.is_spent(asked_psi):
            most_s = 0.0
        if up_s >= most_s or rest_psi >= self._aim_psi(now):
            topped.lasted_s = up_s
            self._rest(now)

    def _judge_top_up(self, topped: TopUp, now: Situation, noise_psi: float) -> None:
        gain_psi = self._learned.gain_psi(now.stress_psi)
        self.top_ups.made(topped, gain_psi, noise_psi)
        if self.top_ups.unanswered:
            self._answers.top_up_unanswered(self.top_ups.psi_s(gain_psi), topped.lasted_s)
        else:
            self._answers.answered()

    def _since_told_s(self, now: Situation) -> float:
        return math.inf if self._told_ns is None else seconds(now.t_ns - self._told_ns)

    def _still_psi_s(self, now: Situation) -> float:
        return at_least(_STILL * now.rate_psi_s, _NOISES * now.speed_noise_psi_s)

    def _aim_psi(self, now: Situation) -> float:
        """Where the load is led to: what it may come to rest at stays under limit and ceiling."""
        if self._aimed[:2] != (now.t_ns, self._phase):
            self._aimed = now.t_ns, self._phase, self._new_aim_psi(now)
        return self._aimed[2]

    def _new_aim_psi(self, now: Situation) -> float:
        target_psi = now.plan.target_psi
        grain_psi = _GRAIN * self._learned.gain_psi(now.stress_psi)
        spread_psi = 2 * math.hypot(_DELAY_SD_S * at_least(now.speed_psi_s, 0.0), grain_psi)
        aim_psi = _FIRST_AIM * target_psi
        if self._phase is not _FOLLOW:
            sag_psi = at_most(self._sag_psi_s * _SAG_S, _MOST_SAG * target_psi)
            aim_psi = _TOP_UP_AIM * target_psi + sag_psi
        aim_psi = min(
            aim_psi,
            _STAY_UNDER * target_psi - spread_psi,
            now.ceiling_psi - spread_psi,
            (target_psi + now.ceiling_psi) / 2,
        )
        return at_least(aim_psi, at_most(_TOP_UP_AT * target_psi, now.ceiling_psi - 1e-6))

    def _near_ceiling(self, now: Situation) -> bool:
        if self._phase is not _REST:
            return is_near(now, self._learned.delay_s)
        gain_psi = self._learned.gain_psi(now.stress_psi)
        topping_psi_s = 0.0 if self._topped is None else self.top_ups.psi_s(gain_psi)
        told_s = self._since_told_s(now)
        return is_near(now, self._learned.delay_s, told_s=told_s, topping_psi_s=topping_psi_s)

    # --- what is shown ---------------------------------------------------------------------

    def _pace_psi_s(self, now: Situation, load_psi: float, aim_psi: float) -> float | None:
        """The pace asked for; None where the lever should rest."""
        rate_psi_s = now.rate_psi_s
        if self._phase is _REST:
            return None
        if self._phase is _TOP_UP:
            return self._top_up_psi_s(now)
        line_psi = now.line_psi(self._learned.delay_s)
        if self._lever.nearly_spent:
            line_psi += rate_psi_s * _AHEAD_OF_RETURN_S
        ahead_s = self._learned.delay_s + now.lag_s
        will_psi = now.stress_psi + self.guide.asked_psi(now.t_ns, ahead_s, now.slow_psi_s)
        pace_psi_s = rate_psi_s + _CLOSE_PER_S * (line_psi - will_psi)
        slowing_psi_s = at_least((aim_psi - load_psi) / _APPROACH_S, LEAST_PACE * rate_psi_s)
        return min(
            at_least(pace_psi_s, LEAST_PACE * rate_psi_s),
            self._stall.most_pace * rate_psi_s,
            slowing_psi_s,
        )

    def _top_up_psi_s(self, now: Situation) -> float:
        """A slow pace, and a faster one the longer that gains nothing."""
        topped, rate_psi_s = self._topped, now.rate_psi_s
        pace_psi_s = _TOP_UP_PACE * rate_psi_s + self._sag_psi_s
        if topped is not None and now.slow_psi_s < _SLIPPING * rate_psi_s:
            up_s = seconds(now.t_ns - topped.start_ns)
            over_s = max(up_s - self._learned.delay_s - now.lag_s - 2 * _SEEN_S, 0.0)
            pace_psi_s += _FASTER_PER_S * over_s * rate_psi_s
        return min(pace_psi_s, MOST_PACE * rate_psi_s)

    def _mark_psi(
        self,
        now: Situation,
        load_psi: float,
        aim_psi: float,
        pace_psi_s: float | None,
        *,
        back: bool,
    ) -> float:
        target_psi = now.plan.target_psi
        if pace_psi_s is None:
            # At rest the mark is where the load may stay.
            return between(load_psi, _TOP_UP_AT * target_psi, at_least(aim_psi, target_psi))
        if now.state is SEATING or now.ramp is None:
            return now.line_psi(self._learned.delay_s)
        # A hand moves the lever at some pace: what that is in psi/s goes by the load.
        gain_psi = self._learned.gain_psi
        self.guide.shape = gain_psi(now.stress_psi) / gain_psi(_WHERE_COUNTED_PSI)
        distance_psi = self.guide.distance_psi(pace_psi_s)
        if self._phase is _TOP_UP:
            gain_per_s = max(self.guide.gain_per_s, _LEAST_TOP_UP_GAIN)
            distance_psi = max(pace_psi_s / gain_per_s, 0.1 * now.rate_psi_s)
        elif not back:
            distance_psi = self._stall.distance_psi(distance_psi, now.rate_psi_s)
            self._learn_hand(now, distance_psi)
        return at_most(load_psi + distance_psi, _STAY_UNDER * target_psi)

    def _learn_hand(self, now: Situation, distance_psi: float) -> None:
        behind_psi = now.line_psi(-now.lag_s) - now.stress_psi
        # So far ahead the hand is told to wait, whatever the mark.
        waits = -behind_psi > self._learned.gain_psi(now.stress_psi) / 2
        if self._answers.silent or self._may_have_paused() or waits:
            returned_s = self._answers.stalled_s if self._lever.likely_returned > _LIKELY else 0.0
            self.guide.interrupt(now.t_ns - round(returned_s * 1e9))
            return
        # Half the window in which the speed is measured is as late as the hand.
        delay_s = self._learned.delay_s + now.lag_s + _SLOW_LATE_S
        self.guide.show(now.t_ns, distance_psi, now.slow_psi_s)
        self.guide.learn(now.t_ns, now.slow_psi_s, delay_s, now.since_last_s, behind_psi)

    def _may_have_paused(self) -> bool:
        """Whether the lever may be on its way back, or at rest; a hand that is slow is neither."""
        stalled_s = self._answers.stalled_s
        returns = self._lever.likely_returned > _LIKELY
        return stalled_s > (_PAUSED_S if returns else _RESTING_S)

    def _ahead_psi(self, now: Situation, mark_psi: float, aim_psi: float) -> tuple[float, ...]:
        """The mark in the next seconds: along the line, and at rest where it ends."""
        if self._phase is not _FOLLOW:
            return (mark_psi,) * len(_AHEAD_S)
        end_psi = at_least(aim_psi, mark_psi)
        return tuple([at_most(mark_psi + now.rate_psi_s * in_s, end_psi) for in_s in _AHEAD_S])

    def _kind(self, now: Situation, *, back: bool) -> CueKind:
        if self._phase is _REST:
            return self._kind_at_rest(now, back=back)
        if self._phase is _TOP_UP:
            return CueKind.TOP_UP
        if back:
            return CueKind.RETURN_LEVER
        in_ramp = now.state is RAMP
        return CueKind.PULL_ON if self._stall.is_said_again and in_ramp else CueKind.SQUEEZE

    def _kind_at_rest(self, now: Situation, *, back: bool) -> CueKind:
        told_s = self._since_told_s(now)
        answered_s = self._learned.delay_s + now.lag_s
        since_s = told_s - answered_s - _SEEN_S
        # What moves a load long after that is no hand, unless it moves it on and on.
        moves = now.speed_psi_s > self._still_psi_s(now)
        if since_s > _COMES_TO_REST_S:
            moves = now.slow_psi_s > at_least(_SLIPPING * now.rate_psi_s, self._still_psi_s(now))
        if told_s < answered_s or moves:
            slipping = now.speed_psi_s > _SLIPPING * now.rate_psi_s
            again = slipping and said_again(since_s)
            return CueKind.HANDS_OFF if again else CueKind.STOP
        return CueKind.RETURN_LEVER if back else CueKind.WAIT
