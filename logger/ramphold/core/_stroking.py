"""Cues for whole and part strokes: each is called so that the load after it straddles the line."""

from ramphold.core._cues import Cue, CueKind
from ramphold.core._judges import seconds
from ramphold.core._learning import Learned
from ramphold.core._moment import Moment
from ramphold.core._squeeze import Squeeze
from ramphold.core._states import RunState
from ramphold.core._strokes import Rise

__all__ = ["SIZES", "Stroking"]

#: Part strokes that a lever's marks can show, in full strokes.
SIZES = (1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0)
#: A hand needs this long for a stroke, the lever's way back and a look.
_BETWEEN_S = 2.0
_SETTLE_S = 0.3
#: A stroke called and not made in this time is called anew.
_PATIENCE_S = 1.5
#: So many steps under the target the pull becomes a squeeze.
_NEAR_STEPS = 1.5
_FAR_BEHIND_STEPS = 1.5
#: How sure to be that a stroke stays under the ceiling, in standard deviations.
_SURE = 2.0


class Stroking:
    """Calls strokes along the line, then hands over to the squeeze near the target."""

    def __init__(self, learned: Learned, squeeze: Squeeze) -> None:
        self._learned = learned
        self._squeeze = squeeze
        self._near = False
        self._called: tuple[int, float] | None = None
        self._ended_ns: int | None = None

    def rose(self, rise: Rise) -> None:
        """Take a rise that has ended: a stroke made, as called or not."""
        self._ended_ns = rise.end_ns
        if rise.sagged_psi_s is not None:
            self._learned.sag(rise.sagged_psi_s, rise.before_psi)
        if self._near:
            self._squeeze.rose(rise)
        elif self._called is not None:
            called_ns, size = self._called
            self._learned.answer(seconds(rise.start_ns - called_ns))
            self._learned.stroke(size, rise.before_psi, rise.after_psi)
        self._called = None

    def cue(self, now: Moment) -> Cue:
        """What to do now."""
        size = None if now.state is not RunState.RAMP else self._size(now)
        if size is None:
            return self._squeeze.cue(now)
        step_psi = size * self._learned.gain_psi(now.stress_psi)
        before_psi = now.stress_psi - self._sag_psi_s(now) * (now.lag_s + self._learned.delay_s)
        line_psi = now.line_psi(self._learned.delay_s + _half_stroke_s(size))
        due_s = self._due_s(now, line_psi - before_psi - step_psi / 2)
        return Cue(
            t_ns=now.t_ns,
            kind=self._kind(now, size, due_s),
            size=size,
            due_s=due_s,
            after_psi=before_psi + step_psi,
            mark_psi=line_psi,
            load_psi=before_psi,
            near_ceiling=False,
        )

    def _kind(self, now: Moment, size: float, due_s: float) -> CueKind:
        if now.rising_since_ns is not None or due_s > 0:
            return CueKind.WAIT
        if self._called is None:
            self._called = now.t_ns, size
        return CueKind.STROKE

    def _due_s(self, now: Moment, behind_psi: float) -> float:
        due_s = max(0.0, -behind_psi / (now.rate_psi_s + self._sag_psi_s(now)))
        if self._called is not None:
            return 0.0
        if self._ended_ns is not None:
            return max(due_s, _SETTLE_S - seconds(now.t_ns - self._ended_ns))
        return due_s

    def _size(self, now: Moment) -> float | None:
        """How far the next stroke should go; None where even the smallest is too coarse."""
        if self._called is not None:
            if now.rising_since_ns is not None or now.t_ns - self._called[0] < _PATIENCE_S * 1e9:
                return self._called[1]
            self._called = None
        gain_psi = self._learned.gain_psi(now.stress_psi)
        fit = [s for s in SIZES if self._stays_under(now, s, gain_psi)]
        if not fit:
            return None
        wanted_psi = (now.rate_psi_s + self._sag_psi_s(now)) * _BETWEEN_S
        index = next((i for i, s in enumerate(fit) if s * gain_psi >= wanted_psi), len(fit) - 1)
        behind_psi = now.line_psi(self._learned.delay_s) - now.stress_psi
        if behind_psi > _FAR_BEHIND_STEPS * fit[index] * gain_psi and index + 1 < len(fit):
            index += 1
        left_psi = now.aim_psi - now.stress_psi
        if left_psi < _NEAR_STEPS * fit[index] * gain_psi * (2 if self._near else 1):
            self._near = True
            return None
        self._near = False
        return fit[index]

    def _stays_under(self, now: Moment, size: float, gain_psi: float) -> bool:
        most = size * gain_psi * (1 + _SURE * self._learned.scatter(size))
        return now.stress_psi + most <= now.ceiling_psi

    def _sag_psi_s(self, now: Moment) -> float:
        return self._learned.sag_per_s * now.stress_psi


def _half_stroke_s(size: float) -> float:
    return (0.25 + 0.5 * size) / 2
