"""Turns the pace that is asked for into a mark to follow, for a hand that is learned on the way.

A person who follows a mark pulls at some pace of his own plus a gain times the distance seen,
a reaction time late (the crossover model of manual tracking: gain and delay are the person's,
and adapt slowly). Where the mark were simply the line, a hand of high gain would oscillate and
one of low gain lag. So the distance shown is the one that makes this hand pull at the pace asked
for: pace = base + gain x distance, with both learned from what was shown and what was pulled.
"""

from bisect import bisect_right
from collections import deque
from operator import attrgetter
from typing import NamedTuple

from ramphold.core._bounds import at_most, between
from ramphold.core._cues import PacingStart

_GAINS = (0.45, 2.5)
#: What is known of a gain beforehand counts as so many psi2 of distance.
_PRIOR_PSI2 = 1200.0
_FORGET_S = 40.0
#: The base is learned in so many of the hand's delays, or the two would oscillate together; faster
#: in the first seconds of pulling, in which little is known. An error that lasts moves it too.
_FIRST_DELAYS, _BASE_DELAYS, _SETTLED_S = 1.5, 3.0, 6.0
_LASTING_PER_S2 = 0.03
_MOST_LASTING_S = 1.5
#: Bounds of the base pace, and of the distance, as multiples of the even pull.
_BASES = (-2.0, 3.0)
_FURTHEST_S = 4.5
_SPAN_NS = 1_000_000_000
_STEP_NS = 90_000_000
_KEEP_NS, _FRESH_NS = 3_000_000_000, 1_300_000_000


class _Shown(NamedTuple):
    """What was shown, the pace expected of it, how fast the load moved, and what was known."""

    t_ns: int
    pace_psi_s: float
    distance_psi: float
    speed_psi_s: float
    learned: tuple[float, float, float]


_TIME = attrgetter("t_ns")


class Guide:
    """Shows distances that ask for a pace.

    Args:
        even_psi_s: the even pull along the ramp line.
        start: the hand that is assumed at first.
    """

    def __init__(self, even_psi_s: float, start: PacingStart) -> None:
        self._even_psi_s = even_psi_s
        low, high = _BASES
        self._bases_psi_s = low * even_psi_s, high * even_psi_s
        self._base_psi_s = between(start.base_pace, low, high) * even_psi_s
        self._first_per_s = between(start.follow_per_s, *_GAINS)
        #: What a stroke gains here, as a share of what it gains where the gain is counted.
        self.shape = 1.0
        self._learned_s = 0.0
        self._squares = _PRIOR_PSI2
        self._products = _PRIOR_PSI2 * self._first_per_s
        self._shown: deque[_Shown] = deque()

    @property
    def gain_per_s(self) -> float:
        """Pace that this hand makes of a distance, in psi/s for each psi."""
        return between(self._products / self._squares, *_GAINS)

    @property
    def base_pace(self) -> float:
        """Pace that this hand pulls at whatever the distance, as a share of an even pull."""
        return self._base_psi_s / self._even_psi_s

    def distance_psi(self, pace_psi_s: float) -> float:
        """How far the mark has to be ahead of the load to ask for a pace."""
        most = _FURTHEST_S * self._even_psi_s
        asked_psi_s = pace_psi_s / self.shape - self._base_psi_s
        return between(asked_psi_s / self.gain_per_s, -most, most)

    def show(self, t_ns: int, distance_psi: float, speed_psi_s: float) -> None:
        """Keep what is shown now, with how fast the load moves as far as is seen."""
        if self._shown and t_ns - self._shown[-1].t_ns < _STEP_NS:
            return
        learned = self._base_psi_s, self._squares, self._products
        # Where the strip is too short for the distance, less is expected than was asked for.
        pace_psi_s = (self._base_psi_s + self.gain_per_s * distance_psi) * self.shape
        self._shown.append(_Shown(t_ns, pace_psi_s, distance_psi, speed_psi_s, learned))
        while self._shown[0].t_ns < t_ns - _KEEP_NS:
            self._shown.popleft()

    def interrupt(self, since_ns: int) -> None:
        """Forget what was shown, and what was learned since then.

        The lever went back or rested, which says nothing of the pull.
        """
        before = [shown.learned for shown in self._shown if shown.t_ns >= since_ns]
        if before:
            self._base_psi_s, self._squares, self._products = before[0]
        self._shown.clear()

    def asked_psi(self, t_ns: int, ahead_s: float, speed_psi_s: float) -> float:
        """What the load gains in the next `ahead_s`, by what was asked and by how fast it moves."""
        begin_ns = t_ns - round(ahead_s * 1e9)
        asked = [shown.pace_psi_s for shown in self._shown if shown.t_ns >= begin_ns]
        if not asked:
            return speed_psi_s * ahead_s
        return (sum(asked) / len(asked) + speed_psi_s) / 2 * ahead_s

    def learn(
        self, t_ns: int, speed_psi_s: float, delay_s: float, since_s: float, behind_psi: float
    ) -> None:
        """Learn from the speed now, which answers what was shown `delay_s` before."""
        answered = self._at(t_ns - round(delay_s * 1e9))
        if answered is None:
            return
        pace_psi_s = answered.pace_psi_s
        self._learned_s = at_most(self._learned_s + since_s, _SETTLED_S)
        delays = _FIRST_DELAYS + (_BASE_DELAYS - _FIRST_DELAYS) * self._learned_s / _SETTLED_S
        surprise_psi_s = (speed_psi_s - pace_psi_s) / self.shape / (delays * delay_s)
        most = _MOST_LASTING_S * self._even_psi_s
        lasting_psi_s = _LASTING_PER_S2 * between(behind_psi, -most, most)
        moved = self._base_psi_s + (surprise_psi_s - lasting_psi_s) * since_s
        self._base_psi_s = between(moved, *self._bases_psi_s)
        before = self._at(t_ns - round(delay_s * 1e9) - _SPAN_NS)
        then = self._at(t_ns - _SPAN_NS)
        if before is None or then is None:
            return
        keep = 1 - since_s / _FORGET_S
        step_psi = answered.distance_psi - before.distance_psi
        step_psi_s = (speed_psi_s - then.speed_psi_s) / self.shape
        self._squares = _PRIOR_PSI2 + keep * (self._squares - _PRIOR_PSI2) + step_psi**2 * since_s
        prior = _PRIOR_PSI2 * self._first_per_s
        self._products = prior + keep * (self._products - prior) + step_psi * step_psi_s * since_s

    def _at(self, t_ns: int) -> _Shown | None:
        after = bisect_right(self._shown, t_ns, key=_TIME)
        found = self._shown[after - 1] if after else None
        return found if found is not None and t_ns - found.t_ns <= _FRESH_NS else None
