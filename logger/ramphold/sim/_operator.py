"""A simulated person at the press: sees the screen and nothing else, late and unevenly."""

import random
from collections import deque
from dataclasses import dataclass, field

from ramphold.sim._hand import Hand, HandHabits
from ramphold.sim._model import LeverMove

_NS_PER_S = 1_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """What a person can read at the press, in words, digits and character cells.

    Attributes:
        word, detail: the biggest word, and the sentence that makes it precise.
        stress: the digits of the stress.
        target_psi: the target that it shows.
        mark, load: columns of the mark and of the load on the strip; None where there is none.
        cell_psi: what a column is worth by the strip's scale.
    """

    word: str
    detail: str = ""
    stress: str = ""
    target_psi: float = 0.0
    mark: int | None = None
    load: int | None = None
    cell_psi: float = 0.0

    @property
    def behind_psi(self) -> float | None:
        """How far the load is seen behind the mark."""
        if self.mark is None or self.load is None:
            return None
        return (self.mark - self.load) * self.cell_psi


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatorHabits:
    """How one person sees and answers.

    Attributes:
        see_s: from a change of the strip to the hand that follows it.
        answer_s: from a new word to the hand that obeys it.
        lapses_per_s: how often the eyes are elsewhere, for `lapse_s`.
        ignores: share of new words that are missed until they change, or for `again_s`.
        close_per_s: lever travel before the piston touches, in strokes/s.
        seat_per_s: lever travel where there is no mark to follow, in strokes/s.
        top_up_per_s: lever travel of a top-up, in strokes/s.
        gain_per_s: pace that a seen distance is turned into, in psi/s for each psi.
        feeds_forward: share of the usual pace that is pulled whatever the distance.
        heeds_strip: whether the strip slows a top-up, or its word alone starts and stops it.
        stroke_psi: what a full stroke is felt to gain.
        to_gauge_s: how long a load that does not answer is looked at before the gauge is.
        needle_psi: how far the needle of the press's own gauge is misread, at most.
        hand: how evenly the hand works.
    """

    see_s: float = 0.3
    answer_s: float = 0.25
    lapses_per_s: float = 0.02
    lapse_s: float = 1.0
    ignores: float = 0.0
    again_s: float = 3.0
    close_per_s: float = 0.25
    seat_per_s: float = 0.05
    top_up_per_s: float = 0.035
    gain_per_s: float = 0.8
    feeds_forward: float = 1.0
    heeds_strip: bool = True
    stroke_psi: float = 950.0
    to_gauge_s: float = 4.0
    needle_psi: float = 40.0
    hand: HandHabits = field(default_factory=HandHabits)


_LONGEST_STEP_S = 0.5
_OVER = (
    "RELEASE",
    "OPEN VALVE",
    "RELEASE FULLY",
    "NOT RECORDED",
    "ENDING",
    "ENDED",
    "PASSED",
    "FAILED",
)


class Operator:
    """Does what the screen says, as it was a reaction time ago."""

    #: A stroke still called this long after the last is meant to be made again.
    _CALLED_AGAIN_S = 1.5

    def __init__(self, rng: random.Random, habits: OperatorHabits | None = None) -> None:
        self._rng = rng
        self.habits = habits or OperatorHabits()
        self.hand = Hand(rng, self.habits.hand)
        self._shown: deque[tuple[int, Screen]] = deque()
        self._strip: Screen | None = None
        self._read: str | None = None
        self._word: str | None = None
        self._read_ns = 0
        self._t_ns: int | None = None
        self._usual_per_s = 0.035
        self._stroke_ns: int | None = None
        self._gauge_psi: float | None = None
        self._misread_psi: float | None = None
        self._returned = False
        self._away_until_ns = 0

    def act(self, t_ns: int, screen: Screen | None, *, gauge_psi: float | None = None) -> LeverMove:
        """What the hand did since the last call, `screen` being shown now.

        Give the move to `Press.step` with the same time. `gauge_psi` is what the needle of the
        press's own gauge shows, if it has one; it is looked at only where the load does not answer.
        """
        self._gauge_psi = gauge_psi
        # Whoever was not asked for longer was not there.
        since_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / _NS_PER_S
        elapsed_s, self._t_ns = min(since_s, _LONGEST_STEP_S), t_ns
        if screen is not None and not (self._shown and self._shown[-1][1] is screen):
            self._shown.append((t_ns, screen))
        self._look(t_ns, elapsed_s)
        if self._word in _OVER:
            return LeverMove(valve_open=True)
        if not self.hand.busy:
            self._answer(t_ns, elapsed_s)
        return self.hand.move(elapsed_s)

    def _look(self, t_ns: int, elapsed_s: float) -> None:
        """Take in what has reached the hand by now: the strip, and the word."""
        habits = self.habits
        if self._rng.random() < habits.lapses_per_s * elapsed_s:
            self._away_until_ns = t_ns + round(habits.lapse_s * _NS_PER_S)
        if t_ns < self._away_until_ns:
            return
        self._strip = self._as_of(t_ns - round(habits.see_s * _NS_PER_S))
        read = self._as_of(t_ns - round(habits.answer_s * _NS_PER_S))
        word = None if read is None else _meaning(read.word)
        if word is not None and word != self._read:
            self._read, self._read_ns = word, t_ns
            if self._rng.random() >= habits.ignores:
                self._word = word
        elif t_ns - self._read_ns > habits.again_s * _NS_PER_S:
            self._word = self._read
        oldest_ns = t_ns - 2 * _NS_PER_S
        while len(self._shown) > 1 and self._shown[1][0] < oldest_ns:
            self._shown.popleft()

    def _as_of(self, at_ns: int) -> Screen | None:
        return next((screen for t_ns, screen in reversed(self._shown) if t_ns <= at_ns), None)

    def _answer(self, t_ns: int, elapsed_s: float) -> None:
        hand, habits, word = self.hand, self.habits, self._word
        if word is None or word == "READY":
            hand.pull(habits.close_per_s)
        elif word.endswith(" STROKE"):
            self._stroke(t_ns, _size(word))
        elif word == "RETURN LEVER":
            if not self._returned:
                hand.back()
            self._returned = True
        elif word == "NO CUE":
            # By the gauge, slowly: whoever sees it move goes on.
            hand.pull(habits.top_up_per_s if self._gauge_shows_less() else 0.0)
        elif word == "NO ANSWER":
            looked = t_ns - self._read_ns > habits.to_gauge_s * _NS_PER_S
            less = looked and self._gauge_psi is not None and self._gauge_shows_less()
            hand.pull(habits.top_up_per_s if less else 0.0)
        elif word == "TOP UP":
            hand.pull(self._top_up_per_s())
        elif word in ("SQUEEZE", "PULL ON", "FASTER", "SLOWER"):
            hand.pull(self._follow_per_s(elapsed_s))
        else:
            # WAIT, STOP, and every warning that takes the place of a cue.
            hand.pull(0.0)
        self._returned &= word == "RETURN LEVER"
        if word is None or not word.endswith(" STROKE"):
            self._stroke_ns = None

    def _gauge_shows_less(self) -> bool:
        """Whether the press's own gauge shows less than the target; some gauge is assumed."""
        screen, gauge_psi = self._shown[-1][1] if self._shown else None, self._gauge_psi
        if gauge_psi is None or screen is None:
            return True
        if self._misread_psi is None:
            self._misread_psi = self._rng.uniform(-1.0, 1.0) * self.habits.needle_psi
        # Whoever knows how a needle is misread stays that much under.
        return gauge_psi + self._misread_psi < screen.target_psi - self.habits.needle_psi

    def _stroke(self, t_ns: int, size: float) -> None:
        again = self._stroke_ns is not None and (
            t_ns - self._stroke_ns > self._CALLED_AGAIN_S * _NS_PER_S
        )
        if self._stroke_ns is None or again:
            self._stroke_ns = t_ns
            self.hand.stroke(size)
        else:
            self.hand.pull(0.0)

    def _follow_per_s(self, elapsed_s: float) -> float:
        """Speed of a pull that closes the gap between load and mark."""
        behind_psi = None if self._strip is None else self._strip.behind_psi
        if behind_psi is None:
            return self.habits.seat_per_s
        habits = self.habits
        # Whoever is always behind comes to pull faster of himself.
        nudge = max(-1.0, min(1.0, behind_psi / 40.0))
        self._usual_per_s *= 1 + 0.08 * elapsed_s * nudge
        closing_per_s = habits.gain_per_s * behind_psi / habits.stroke_psi
        return habits.feeds_forward * self._usual_per_s + closing_per_s

    def _top_up_per_s(self) -> float:
        habits = self.habits
        behind_psi = None if self._strip is None else self._strip.behind_psi
        if behind_psi is None or not habits.heeds_strip:
            return habits.top_up_per_s
        if behind_psi <= 0:
            return 0.0
        closing_per_s = habits.gain_per_s * behind_psi / habits.stroke_psi
        return min(max(closing_per_s, habits.hand.slowest_per_s), habits.top_up_per_s)


def _meaning(word: str) -> str:
    """What a word tells a hand: seconds that are counted tell it to wait."""
    return "WAIT" if word.endswith((" s", " min")) else word


def _size(word: str) -> float:
    """The size in `1/8 STROKE` or `FULL STROKE`."""
    part = word.removesuffix(" STROKE")
    if "/" not in part:
        return 1.0
    over, under = part.split("/")
    return int(over) / int(under)
