"""Cues for a slow continuous pull that follows a moving mark, and for the hold in either style."""

from ramphold.core._accounts import seconds
from ramphold.core._cues import Cue, CueKind
from ramphold.core._learning import Learned
from ramphold.core._moment import Moment
from ramphold.core._states import RunState
from ramphold.core._strokes import Rise

__all__ = ["Squeeze"]

#: A top-up begins when the load is about to be this far under the target.
_TOP_UP = 0.998
#: Under this it is worth topping up even when the hold is nearly over.
_LAST_TOP_UP = 0.985
_NEARLY_UP_S = 2.5
_COUNTDOWN_S = 5.0
_STILL_PSI_S = 3.0
#: In this time the mark moves by as much as the hand has been off the line.
_HABIT_S = 4.0
_MOST_HABIT_PSI = 30.0
#: A pull that starts from rest is late: so far ahead the mark is as the ramp begins.
_FROM_REST_PSI = 20.0
#: Half of what a lever return costs is best had in hand before it.
_AHEAD_OF_RETURN_S = 0.6


class Squeeze:
    """Leads the load along the line to the aim, stops it there, and keeps it there."""

    def __init__(self, learned: Learned) -> None:
        self._learned = learned
        self._lever = _LeverUse(learned)
        self._stopped_ns: int | None = None
        self._habit_psi: float | None = None

    def rose(self, rise: Rise) -> None:
        """Take a rise that has ended: the hand's answer if it had been told to stop."""
        if self._stopped_ns is not None and rise.start_ns < self._stopped_ns:
            self._learned.answer(seconds(rise.end_ns - self._stopped_ns))

    def cue(self, now: Moment) -> Cue:
        """What to do now."""
        ahead_s = now.lag_s + self._learned.delay_s
        load_psi = now.stress_psi + now.speed_psi_s * ahead_s
        rest_psi = max(load_psi, now.stress_psi)
        self._decide(now, load_psi, rest_psi)
        back = self._lever.follow(now, pulling=self._stopped_ns is None)
        return Cue(
            t_ns=now.t_ns,
            kind=self._kind(now, back=back),
            due_s=_countdown_s(now),
            after_psi=rest_psi,
            mark_psi=self._mark_psi(now, back=back),
            load_psi=load_psi,
            near_ceiling=rest_psi >= now.ceiling_psi,
        )

    def _decide(self, now: Moment, load_psi: float, rest_psi: float) -> None:
        """Whether the hand should be pulling or not."""
        if self._stopped_ns is None:
            if rest_psi >= now.aim_psi:
                self._stopped_ns = now.t_ns
            return
        share = load_psi / now.plan.target_psi
        nearly_up = now.to_go_s is not None and now.to_go_s < _NEARLY_UP_S
        if rest_psi < now.aim_psi and share < (_LAST_TOP_UP if nearly_up else _TOP_UP):
            self._stopped_ns = None

    def _mark_psi(self, now: Moment, *, back: bool) -> float:
        """The line once the hand has answered, moved by what this hand tends to be off it."""
        if now.state is not RunState.RAMP:
            return now.line_psi(self._learned.delay_s)
        behind_psi = now.line_psi(-now.lag_s) - now.stress_psi
        if self._habit_psi is None:
            begins = now.ramp is not None and seconds(now.t_ns - now.ramp.start_ns) < 1.0
            self._habit_psi = _FROM_REST_PSI if begins else 0.0
        elif self._stopped_ns is None and not back:
            moved_psi = self._habit_psi + behind_psi * now.since_last_s / _HABIT_S
            self._habit_psi = min(max(moved_psi, -_MOST_HABIT_PSI), _MOST_HABIT_PSI)
        ahead_psi = now.rate_psi_s * _AHEAD_OF_RETURN_S if self._lever.nearly_spent else 0.0
        line_psi = now.line_psi(self._learned.delay_s)
        return min(line_psi + self._habit_psi + ahead_psi, now.aim_psi)

    def _kind(self, now: Moment, *, back: bool) -> CueKind:
        if self._stopped_ns is not None and now.speed_psi_s > _STILL_PSI_S:
            return CueKind.STOP
        if back:
            return CueKind.RETURN_LEVER
        if self._stopped_ns is not None:
            return CueKind.WAIT
        return CueKind.TOP_UP if now.state is RunState.HOLD else CueKind.SQUEEZE


def _countdown_s(now: Moment) -> float | None:
    if now.to_go_s is None or now.to_go_s >= _COUNTDOWN_S:
        return None
    # The end of a hold may pass in a gap; the run knows it a reading later.
    return max(now.to_go_s, 0.0)


class _LeverUse:
    """Guesses how much of the lever's travel is used, and says when a return is cheapest.

    A return costs about a second of ramp wherever it falls, and most where the load has to
    arrive or to be topped up: so the lever goes back while seating, before the approach, and at
    rest. That it went back shows in a load that gains nothing for a while.
    """

    _FULL = 0.9
    _NEARLY = 0.8
    _APPROACH = 0.35
    _SPENT_BEFORE_APPROACH = 0.3
    _SPENT_AT_REST = 0.6
    _MUCH = 0.4
    _ASKED_S, _UNASKED_S, _AT_REST_S = 0.7, 0.9, 2.0
    # A gain smaller than this may be noise.
    _GAIN_PSI = 5.0

    def __init__(self, learned: Learned) -> None:
        self._learned = learned
        #: Share of the travel used since the last return; nothing is known before the ramp.
        self.used = 0.0
        self._low_psi = 0.0
        self._gained_ns = 0
        self._advised_ns: int | None = None
        self._seated = self._approached = False

    @property
    def nearly_spent(self) -> bool:
        """Whether a return is about to be due."""
        return self._NEARLY < self.used <= self._FULL

    def follow(self, now: Moment, *, pulling: bool) -> bool:
        """Take the load of now; whether the lever should go back now."""
        gain_psi = self._learned.gain_psi(now.stress_psi)
        self._low_psi = min(self._low_psi, now.stress_psi)
        if now.stress_psi >= self._low_psi + self._GAIN_PSI:
            self.used += (now.stress_psi - self._low_psi) / gain_psi
            self._low_psi, self._gained_ns = now.stress_psi, now.t_ns
        elif self._has_returned(now, pulling=pulling):
            self._returned(now)
        if self._worth_return(now, (now.aim_psi - now.stress_psi) / gain_psi, pulling=pulling):
            self._advised_ns = self._advised_ns or now.t_ns
        return self._advised_ns is not None

    def _has_returned(self, now: Moment, *, pulling: bool) -> bool:
        advised_ns = self._advised_ns
        if advised_ns is None:
            return pulling and seconds(now.t_ns - self._gained_ns) >= self._UNASKED_S
        least_s = self._ASKED_S if pulling else self._AT_REST_S
        return seconds(now.t_ns - max(self._gained_ns, advised_ns)) >= least_s

    def _worth_return(self, now: Moment, short: float, *, pulling: bool) -> bool:
        if now.state is RunState.SEATING:
            worth = not self._seated
            self._seated = True
            return worth
        if not pulling:
            return self.used > self._SPENT_AT_REST and now.speed_psi_s < _STILL_PSI_S
        if short < self._APPROACH and not self._approached:
            self._approached = True
            return self.used > self._SPENT_BEFORE_APPROACH
        return self.used > self._FULL

    def _returned(self, now: Moment) -> None:
        """The lever is up again; if unasked, its travel was all used, which tells the gain."""
        if self.used > self._FULL:
            self._learned.rescale(1.05)
        elif self._advised_ns is None and self.used > self._MUCH:
            self._learned.rescale((1 + self.used) / 2)
        self.used, self._advised_ns = 0.0, None
        self._low_psi, self._gained_ns = now.stress_psi, now.t_ns
