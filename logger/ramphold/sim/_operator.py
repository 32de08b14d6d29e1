"""A simulated person at the press: sees the screen late, moves the lever unevenly."""

import math
import random
from collections import deque
from dataclasses import dataclass

from ramphold.core import ENDED, RunState, Snapshot
from ramphold.sim._model import LeverMove

__all__ = ["Operator", "OperatorHabits"]

_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorHabits:
    """How one person sees and pulls.

    Attributes:
        delay_s: from a mark on the screen to the hand that follows it.
        lapse_share: share of looks at which the mind is elsewhere, for `lapse_s`.
        close_per_s: lever travel before the piston touches, in strokes/s.
        seat_per_s: lever travel once it touches, in strokes/s.
        fastest_per_s: fastest pull while following the line, in strokes/s.
        unevenness: slow relative unevenness of a pull.
        stick: travel that a sticky lever gathers before it moves, in strokes.
        return_s: time that a lever return takes.
        answer_psi: how far behind the line makes the hand pull twice as fast.
        release_s: from the end of the hold to the valve's opening.
    """

    delay_s: float = 0.3
    lapse_share: float = 0.003
    lapse_s: float = 1.0
    close_per_s: float = 0.25
    seat_per_s: float = 0.05
    fastest_per_s: float = 0.15
    unevenness: float = 0.15
    stick: float = 0.012
    return_s: float = 1.0
    answer_psi: float = 40.0
    release_s: float = 1.0


class Operator:
    """Squeezes along the line shown, tops up in the hold, releases when it is up."""

    def __init__(self, rng: random.Random, habits: OperatorHabits | None = None) -> None:
        self._rng = rng
        self._habits = habits or OperatorHabits()
        self._seen: deque[tuple[int, Snapshot]] = deque()
        self._t_ns: int | None = None
        self._lever = 0.0
        self._gathered = 0.0
        self._stick = self._habits.stick
        self._evenness = 0.0
        self._usual_per_s = 0.04
        self._returning = False
        self._topping_up = False
        self._away_until_ns = 0
        self._release_at_ns: int | None = None

    def act(self, t_ns: int, snapshot: Snapshot | None) -> LeverMove:
        """What the hand does up to the next call, having been shown `snapshot` now.

        The move spans the time since the last call: give it to `Press.step` with the same time.
        """
        elapsed_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / _NS_PER_S
        self._t_ns = t_ns
        if snapshot is not None:
            self._seen.append((t_ns, snapshot))
        view = self._view(t_ns)
        if view is None or not elapsed_s:
            return LeverMove()
        if view.state in ENDED or view.state is RunState.RELEASE:
            return self._release(t_ns)
        if self._returning:
            return self._return(elapsed_s)
        return self._pull(self._speed_per_s(view) * elapsed_s, elapsed_s)

    def _view(self, t_ns: int) -> Snapshot | None:
        """The newest snapshot that has reached the hand by now."""
        habits = self._habits
        if self._rng.random() < habits.lapse_share:
            self._away_until_ns = t_ns + round(habits.lapse_s * _NS_PER_S)
        reached_ns = t_ns - round(habits.delay_s * _NS_PER_S)
        while len(self._seen) > 1 and self._seen[1][0] <= reached_ns:
            if t_ns < self._away_until_ns:
                break
            self._seen.popleft()
        return self._seen[0][1] if self._seen and self._seen[0][0] <= reached_ns else None

    def _speed_per_s(self, view: Snapshot) -> float:
        habits = self._habits
        if view.stress_psi is None or view.state is RunState.READY:
            return habits.close_per_s
        if view.state is RunState.SEATING:
            return habits.seat_per_s
        if view.state is RunState.RAMP and view.line_psi is not None:
            behind = (view.line_psi - view.stress_psi) / habits.answer_psi
            climbing = view.line_psi < view.target_psi * 0.999
            if climbing:
                self._usual_per_s *= 1 + 0.005 * max(-1.0, min(1.0, behind))
            return self._usual_per_s * ((1.0 if climbing else 0.25) + behind)
        return self._hold_per_s(view.stress_psi, view.target_psi)

    def _hold_per_s(self, stress_psi: float, target_psi: float) -> float:
        if self._topping_up:
            self._topping_up = stress_psi < target_psi * 1.002
        else:
            self._topping_up = stress_psi < target_psi * 0.998
        return self._usual_per_s / 2 if self._topping_up else 0.0

    def _pull(self, travel: float, elapsed_s: float) -> LeverMove:
        habits, rng = self._habits, self._rng
        keep = math.exp(-elapsed_s)
        self._evenness = keep * self._evenness + rng.gauss(
            0.0, habits.unevenness * math.sqrt(1 - keep * keep)
        )
        travel = min(max(travel * (1 + self._evenness), 0.0), habits.fastest_per_s * 2 * elapsed_s)
        self._gathered += travel
        if self._gathered < self._stick:
            return LeverMove()
        moved, self._gathered = self._gathered, 0.0
        self._stick = habits.stick * rng.uniform(0.5, 1.5)
        self._lever += moved
        self._returning = self._lever >= 1.0
        return LeverMove(travel=moved)

    def _return(self, elapsed_s: float) -> LeverMove:
        back = elapsed_s / self._habits.return_s
        self._lever = max(self._lever - back, 0.0)
        self._returning = self._lever > 0
        return LeverMove(travel=-back)

    def _release(self, t_ns: int) -> LeverMove:
        if self._release_at_ns is None:
            self._release_at_ns = t_ns + round(self._habits.release_s * _NS_PER_S)
        return LeverMove(valve_open=t_ns >= self._release_at_ns)
