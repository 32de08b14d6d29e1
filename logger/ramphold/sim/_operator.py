"""A simulated person at the press: follows the cues shown, late and unevenly."""

import random
from collections import deque
from dataclasses import dataclass, field

from ramphold.core import ENDED, Cue, CueKind, RunState, Snapshot
from ramphold.sim._hand import Hand, HandHabits
from ramphold.sim._model import LeverMove

__all__ = ["Operator", "OperatorHabits"]

_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorHabits:
    """How one person sees and answers.

    Attributes:
        delay_s: from what the screen shows to the hand that answers it.
        lapses_per_s: how often the mind is elsewhere, for `lapse_s`.
        close_per_s: lever travel before the piston touches, in strokes/s.
        seat_per_s: lever travel once it touches, in strokes/s.
        answer_psi: how far behind the mark makes the hand pull twice as fast.
        hand: how evenly the hand works.
    """

    delay_s: float = 0.25
    lapses_per_s: float = 0.02
    lapse_s: float = 1.0
    close_per_s: float = 0.25
    seat_per_s: float = 0.05
    answer_psi: float = 40.0
    hand: HandHabits = field(default_factory=HandHabits)


class Operator:
    """Does what the cue says, on what was seen a reaction time ago."""

    #: A stroke still called this long after the last is meant to be made again.
    _CALLED_AGAIN_S = 1.5

    def __init__(self, rng: random.Random, habits: OperatorHabits | None = None) -> None:
        self._rng = rng
        self._habits = habits or OperatorHabits()
        self.hand = Hand(rng, self._habits.hand)
        self._shown: deque[tuple[int, Snapshot]] = deque()
        self._mark_moves = False
        self._t_ns: int | None = None
        self._usual_per_s = 0.04
        self._stroke_ns: int | None = None
        self._returned = False
        self._away_until_ns = 0

    def act(self, t_ns: int, snapshot: Snapshot | None) -> LeverMove:
        """What the hand did since the last call, the screen now showing `snapshot`.

        Give the move to `Press.step` with the same time.
        """
        elapsed_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / _NS_PER_S
        self._t_ns = t_ns
        if snapshot is not None and not (self._shown and self._shown[-1][1] is snapshot):
            self._shown.append((t_ns, snapshot))
        seen = self._look(t_ns, elapsed_s)
        if seen is not None and (seen.state is RunState.RELEASE or seen.state in ENDED):
            return LeverMove(valve_open=True)
        if not self.hand.busy:
            self._answer(t_ns, seen)
        return self.hand.move(elapsed_s)

    def _look(self, t_ns: int, elapsed_s: float) -> Snapshot | None:
        """The newest that has reached the hand by now."""
        habits, shown = self._habits, self._shown
        if self._rng.random() < habits.lapses_per_s * elapsed_s:
            self._away_until_ns = t_ns + round(habits.lapse_s * _NS_PER_S)
        reached_ns = t_ns - round(habits.delay_s * _NS_PER_S)
        if t_ns >= self._away_until_ns:
            while len(shown) > 1 and shown[1][0] <= reached_ns:
                before = _mark_psi(shown.popleft()[1])
                self._mark_moves = _mark_psi(shown[0][1]) > before
        return shown[0][1] if shown and shown[0][0] <= reached_ns else None

    def _answer(self, t_ns: int, seen: Snapshot | None) -> None:
        hand, habits = self.hand, self._habits
        cue = None if seen is None else seen.cue
        if seen is None or cue is None or seen.state is RunState.READY:
            hand.pull(habits.close_per_s)
        elif cue.kind is CueKind.STROKE and cue.size is not None:
            self._stroke(t_ns, cue.size)
        elif cue.kind is CueKind.RETURN_LEVER and not self._returned:
            self._returned = True
            hand.back()
        elif cue.kind in (CueKind.WAIT, CueKind.STOP):
            hand.pull(0.0)
        elif seen.state is RunState.SEATING:
            hand.pull(habits.seat_per_s)
        else:
            hand.pull(self._follow_per_s(cue))
        self._returned &= cue is not None and cue.kind is CueKind.RETURN_LEVER
        if cue is None or cue.kind is not CueKind.STROKE:
            self._stroke_ns = None

    def _stroke(self, t_ns: int, size: float) -> None:
        again = self._stroke_ns is not None and (
            t_ns - self._stroke_ns > self._CALLED_AGAIN_S * _NS_PER_S
        )
        if self._stroke_ns is None or again:
            self._stroke_ns = t_ns
            self.hand.stroke(size)
        else:
            self.hand.pull(0.0)

    def _follow_per_s(self, cue: Cue) -> float:
        """Speed of a pull that closes the gap between load and mark."""
        behind = ((cue.mark_psi or 0.0) - (cue.load_psi or 0.0)) / self._habits.answer_psi
        if self._mark_moves:
            self._usual_per_s *= 1 + 0.002 * max(-1.0, min(1.0, behind))
        return self._usual_per_s * ((1.0 if self._mark_moves else 0.0) + behind)


def _mark_psi(snapshot: Snapshot) -> float:
    return (snapshot.cue and snapshot.cue.mark_psi) or 0.0
