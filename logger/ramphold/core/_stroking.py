"""Cues for whole and part strokes: each is called so that the load after it straddles the line."""

from ramphold.core._accounts import seconds
from ramphold.core._answers import STROKED, AnswerWatch
from ramphold.core._cues import Cue, CueKind
from ramphold.core._learning import Learned
from ramphold.core._situation import Situation
from ramphold.core._squeeze import Squeeze
from ramphold.core._states import RAMP
from ramphold.core._strokes import Rise

#: Part strokes that a lever's marks can show, in full strokes.
SIZES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)
#: A hand needs this long for a stroke, the lever's way back and a look.
_BETWEEN_S = 2.0
_SETTLE_S = 0.3
#: A stroke called and not made in this time is called anew.
_PATIENCE_S = 1.5
#: An answer to the last one before the load counts as silent is waited for so long.
_LAST_PATIENCE_S = 3.0
#: So many steps under the target the pull becomes a squeeze.
_NEAR_STEPS = 1.5
_FAR_BEHIND_STEPS = 1.5
#: What a stroke may plausibly gain more than is said, in shares of the target, before it is made
#: smaller.
_MOST_OVER = 0.03


class Stroking:
    """Calls strokes along the line, then hands over to the squeeze near the target."""

    def __init__(self, learned: Learned, squeeze: Squeeze, answers: AnswerWatch) -> None:
        self._learned = learned
        self._answers = answers
        self._squeeze = squeeze
        self._near = False
        self._called: tuple[int, float] | None = None
        self._unanswered: float | None = None
        self._ended_ns: int | None = None

    def rose(self, rise: Rise) -> None:
        """Take a rise that has ended: a stroke made, as called or not."""
        self._ended_ns = rise.end_ns
        if rise.sagged_psi_s is not None:
            self._learned.sag(rise.sagged_psi_s, rise.before_psi)
        if self._near:
            self._squeeze.rose(rise)
        elif self._called is not None and rise.start_ns >= self._called[0]:
            called_ns, size = self._called
            self._learned.answer(seconds(rise.start_ns - called_ns))
            self._learned.stroke(size, rise.before_psi, rise.after_psi)
        self._answers.answered()
        self._called = self._unanswered = None

    def cue(self, now: Situation, noise_psi: float) -> Cue:
        """What to do now."""
        if now.state is not RAMP:
            return self._squeeze.cue(now, noise_psi)
        if self._answers.silent:
            self._called = self._unanswered = None
            self._answers.feed(now, noise_psi, asked=False)
            return Cue(t_ns=now.t_ns, kind=CueKind.WAIT)
        gain_psi = self._learned.gain_psi(now.stress_psi)
        fit = [size for size in SIZES if self._stays_under(now, size)]
        if self._called is not None and (
            now.rising_since_ns is not None or self._listens(now, fit, gain_psi)
        ):
            return Cue(t_ns=now.t_ns, kind=CueKind.WAIT)
        if not fit:
            return self._squeeze.cue(now, noise_psi)
        size = self._size(now, fit, gain_psi)
        if self._is_near(now, size * gain_psi):
            return self._squeeze.cue(now, noise_psi)
        return self._call(now, size, size * gain_psi)

    def _call(self, now: Situation, size: float, step_psi: float) -> Cue:
        delay_s = self._learned.delay_s
        before_psi = now.stress_psi - self._sag_psi_s(now) * (now.lag_s + delay_s)
        line_psi = now.line_psi(delay_s + _half_stroke_s(size))
        due_s = self._due_s(now, line_psi - before_psi - step_psi / 2)
        if due_s <= 0 and self._called is None:
            self._called = now.t_ns, size
        return Cue(
            t_ns=now.t_ns,
            kind=CueKind.WAIT if self._called is None else CueKind.STROKE,
            size=size,
            due_s=due_s,
            after_psi=before_psi + step_psi,
            mark_psi=line_psi,
            load_psi=before_psi,
        )

    def _due_s(self, now: Situation, behind_psi: float) -> float:
        if self._called is not None:
            return 0.0
        due_s = max(0.0, -behind_psi / (now.rate_psi_s + self._sag_psi_s(now)))
        if now.rising_since_ns is not None:
            # Where a rise that goes on will end can't be told.
            return max(due_s, _SETTLE_S)
        if self._ended_ns is not None:
            return max(due_s, _SETTLE_S - seconds(now.t_ns - self._ended_ns))
        return due_s

    def _size(self, now: Situation, fit: list[float], gain_psi: float) -> float:
        """How far the next stroke should go: as called, or the least that can keep up."""
        if self._called is not None:
            called_ns, size = self._called
            if size in fit and seconds(now.t_ns - called_ns) < _PATIENCE_S:
                return size
            self._called, self._unanswered = None, size
            self._answers.stroke_unanswered(size * gain_psi, fit[0] * gain_psi)
        if self._unanswered is not None:
            # Where the load does not answer, less is asked until it does.
            return max((one for one in fit if one < self._unanswered), default=fit[0])
        wanted_psi = (now.rate_psi_s + self._sag_psi_s(now)) * _BETWEEN_S
        # A stroke on a reading that is stuck must not cost much, unless the load is far behind.
        most_psi = STROKED * now.plan.target_psi
        index = 0
        while fit[index] * gain_psi < wanted_psi and index + 1 < len(fit):
            if fit[index + 1] * gain_psi > most_psi or self._may_surprise(now, fit[index + 1]):
                break
            index += 1
        behind_psi = now.line_psi(self._learned.delay_s) - now.stress_psi
        far_behind = behind_psi > _FAR_BEHIND_STEPS * fit[index] * gain_psi
        if far_behind and index + 1 < len(fit) and not self._may_surprise(now, fit[index + 1]):
            index += 1
        return fit[index]

    def _may_surprise(self, now: Situation, size: float) -> bool:
        """Whether a stroke may gain far more than it says: a squeeze has taught no gain."""
        expected_psi = size * self._learned.gain_psi(now.stress_psi)
        over_psi = self._learned.most_psi(size, now.stress_psi) - expected_psi
        return over_psi > _MOST_OVER * now.plan.target_psi

    def _listens(self, now: Situation, fit: list[float], gain_psi: float) -> bool:
        """Whether the last stroke that may be called in vain is given a while longer."""
        if self._called is None or not fit:
            return False
        called_ns, size = self._called
        since_s = seconds(now.t_ns - called_ns)
        last = self._answers.is_last_stroke(size * gain_psi, fit[0] * gain_psi)
        return last and _PATIENCE_S - now.period_s <= since_s < _LAST_PATIENCE_S

    def _is_near(self, now: Situation, step_psi: float) -> bool:
        """Whether the target is so close that a squeeze has to finish the ramp."""
        steps = _NEAR_STEPS * (2 if self._near else 1)
        self._near = now.plan.target_psi - now.stress_psi < steps * step_psi
        return self._near

    def _stays_under(self, now: Situation, size: float) -> bool:
        return now.stress_psi + self._learned.most_psi(size, now.stress_psi) <= now.ceiling_psi

    def _sag_psi_s(self, now: Situation) -> float:
        return self._learned.sag_per_s * max(now.stress_psi, 0.0)


def _half_stroke_s(size: float) -> float:
    return (0.25 + 0.5 * size) / 2
