"""Cues for a slow continuous pull that follows a moving mark, and for the hold in either style."""

from ramphold.core._cues import Cue, CueKind
from ramphold.core._judges import seconds
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


class Squeeze:
    """Leads the load along the line to the aim, stops it there, and keeps it there."""

    def __init__(self, learned: Learned) -> None:
        self._learned = learned
        self._lever = _LeverUse(learned)
        self._stopped_ns: int | None = None

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
            due_s=now.to_go_s if now.to_go_s is not None and now.to_go_s < _COUNTDOWN_S else None,
            after_psi=rest_psi,
            mark_psi=now.line_psi(self._learned.delay_s),
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
        if share < (_LAST_TOP_UP if nearly_up else _TOP_UP):
            self._stopped_ns = None

    def _kind(self, now: Moment, *, back: bool) -> CueKind:
        if self._stopped_ns is not None and now.speed_psi_s > _STILL_PSI_S:
            return CueKind.STOP
        if back:
            return CueKind.RETURN_LEVER
        if self._stopped_ns is not None:
            return CueKind.WAIT
        return CueKind.TOP_UP if now.state is RunState.HOLD else CueKind.SQUEEZE


class _LeverUse:
    """Guesses how much of the lever's travel is used, and says when a return is cheapest.

    A return costs about a second of ramp wherever it falls, and most where the load has to
    arrive or to be topped up: so the lever goes back before the approach, and at rest.
    """

    _FULL = 0.9
    _REST_NS = 600_000_000
    _APPROACH = 0.35
    _SPENT_BEFORE_APPROACH = 0.3
    _SPENT_AT_REST = 0.6
    _MUCH = 0.4

    def __init__(self, learned: Learned) -> None:
        self._learned = learned
        self._used = 0.0
        self._last_psi = 0.0
        self._rest_ns: int | None = None
        self._advised = self._approached = False

    def follow(self, now: Moment, *, pulling: bool) -> bool:
        """Take the load of now; whether the lever should go back now."""
        gain_psi = self._learned.gain_psi(now.stress_psi)
        if now.speed_psi_s > _STILL_PSI_S:
            self._rest_ns = None
            self._used += max(now.stress_psi - self._last_psi, 0.0) / gain_psi
        elif self._rest_ns is None:
            self._rest_ns = now.t_ns
        elif now.t_ns - self._rest_ns >= self._REST_NS and (pulling or self._advised):
            self._returned()
        self._last_psi = now.stress_psi
        self._advise((now.aim_psi - now.stress_psi) / gain_psi, pulling=pulling)
        return self._advised

    def _advise(self, short: float, *, pulling: bool) -> None:
        if not pulling:
            self._advised |= self._used > self._SPENT_AT_REST and self._rest_ns is not None
        elif self._used > self._FULL:
            self._advised = True
        elif short < self._APPROACH and self._used > self._SPENT_BEFORE_APPROACH:
            self._advised |= not self._approached
            self._approached = True

    def _returned(self) -> None:
        """The lever is up again; if unasked, its travel was all used, which tells the gain."""
        if self._used > self._FULL:
            self._learned.rescale(1.05)
        elif not self._advised and self._used > self._MUCH:
            self._learned.rescale((1 + self._used) / 2)
        self._used, self._advised, self._rest_ns = 0.0, False, None
