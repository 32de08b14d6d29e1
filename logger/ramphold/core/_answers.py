"""Whether the load answers what is cued: one that does not is stuck, or nobody pumps."""

import math

from ramphold.core._bounds import at_least
from ramphold.core._plan import RunPlan
from ramphold.core._situation import Situation
from ramphold.core._states import SEATING

#: So long a pull may be cued with nothing gained; in the seating a piston may settle.
_PATIENCE_S, _SEATING_PATIENCE_S = 3.0, 5.0
#: At low targets it is shorter: so long and two readings, or what `_PULLED` takes.
_LEAST_PATIENCE_S, _PERIODS = 1.8, 2.0
#: And longer where the load sags meanwhile, up to so long. Sand creeps as soon as nobody pulls, so
#: a load that sags is not stuck; its lever is on its way back, or pulled too slowly to move.
_SAGGING_PATIENCE_S, _LONGER = 4.0, 1.6
_SAGS_PSI_S, _SAG_NOISES, _LEAST_SAG_PSI, _SAG_SEEN_S = 1.5, 5.0, 2.5, 0.8
#: A load that has not fallen by this in so long sags no more: it may have stuck since.
_FALLS_ON_PSI, _LEVEL_S = 0.3, 0.8
#: Shortest of all where it stays level, on an instrument that would show the sag: whose readings
#: have differed by less than this. It is a share of what a pull along the line takes for `_PULLED`.
_LEVEL_PATIENCE_S, _LEVEL_SHARE, _FINE_PSI = 1.2, 0.56, 2.0
#: Nor would one whose noise was more than this, in standard deviations, when the load last moved.
_QUIET_PSI = 1.0
#: A load that has just moved up is given a moment more.
_JUST_S = 0.6
#: So many strokes or top-ups in a row may be called with nothing gained.
_MOST_STROKES, _MOST_TOP_UPS = 2, 3
#: And so much may have been asked for in vain, in shares of the target: of a pull along the line,
#: of top-ups, which a fast hand makes twice as large, and of strokes, which are made as called.
_PULLED, _TOPPED, STROKED = 0.034, 0.02, 0.045
#: Top-ups that were up for less than this, all in all, may not have been seen.
_SEEN_S = 0.8
#: Less than this share of an even pull is no answer: an instrument may drift.
_SHARE, _SEATING_SHARE = 0.25, 0.08
#: Nor is what noise alone may look like, in standard deviations of it.
_NOISES = 6.0
_LEAST_PSI = 8.0
#: How fast the mean bend is learned, and the standard deviation of noise that bends so much.
_ROUGHLY, _BENT = 0.25, 0.65
#: What shows that the load moves up at all.
_MOVES, _LEAST_MOVE_PSI = 3.0, 3.0


#: A word that was not answered turns into another and back, so long each.
_SAY_AGAIN_S = 0.7


def said_again(over_s: float) -> bool:
    """Whether another word is up, `over_s` after an answer was due."""
    return over_s >= 0 and not over_s // _SAY_AGAIN_S % 2


class AnswerWatch:
    """Watches whether the load gains while the hand is asked to pull.

    Attributes:
        silent: whether the load does not answer; it stays so until the load gains again.
        longest_s: longest time that it did not, 0 where it always did.
    """

    def __init__(self, plan: RunPlan) -> None:
        self._target_psi = plan.target_psi
        self._along_s = _PULLED * plan.target_psi / (plan.rate_psi_min / 60)
        self._patience_s = _PATIENCE_S
        #: Whether the load sags meanwhile: the reading lives, and the hand does not pull.
        self.sags = False
        self.silent = False
        self.longest_s = 0.0
        #: For how long a pull has been asked for and the load has not moved up at all, in s.
        self.stalled_s = 0.0
        self._waited_s = self._silent_s = 0.0
        self._low_psi: float | None = None
        self._since_low_s = 0.0
        #: The last three readings: so many show a gain, or noise that has just begun would look
        #: like one.
        self._last_psi: tuple[float, float, float] | tuple[()] = ()
        self._is_fine, self._is_quiet = False, True
        self._top_psi = -math.inf
        #: Mean bend of the steadied load of late: noise that has just begun, or a slip just made.
        self._rough_psi = 0.0
        self._still_psi: float | None = None
        self._fell_psi, self._level_s = 0.0, 0.0
        self._called, self._called_psi, self._called_s = 0, 0.0, 0.0

    def answered(self) -> None:
        """A stroke or a top-up was called, and answered."""
        self._called, self._called_psi, self._called_s = 0, 0.0, 0.0

    def stroke_unanswered(self, expected_psi: float, next_psi: float) -> None:
        """A stroke was called in vain; the next one would gain so much."""
        last = self.is_last_stroke(expected_psi, next_psi)
        self._unanswered(expected_psi)
        if last:
            self._fall_silent()

    def is_last_stroke(self, expected_psi: float, next_psi: float) -> bool:
        """Whether no stroke is called after one more that is made in vain."""
        spent_psi = self._called_psi + expected_psi + next_psi
        return self._called + 1 >= _MOST_STROKES or spent_psi > STROKED * self._target_psi

    def top_up_unanswered(self, expected_psi_s: float, lasted_s: float) -> None:
        """A top-up was cued in vain for `lasted_s`, which should have gained so much a second."""
        self._unanswered(expected_psi_s * lasted_s)
        self._called_s += lasted_s
        spent = self.is_spent(0.0) and self._called_s >= _SEEN_S
        if self._called >= _MOST_TOP_UPS or spent:
            self._fall_silent()

    def is_spent(self, expected_psi: float) -> bool:
        """Whether a top-up that should have gained so much by now, and has not, is the last."""
        return self._called_psi + expected_psi > _TOPPED * self._target_psi

    def _unanswered(self, expected_psi: float) -> None:
        self._called += 1
        self._called_psi += expected_psi

    def _fall_silent(self) -> None:
        if not self.silent:
            self.silent = True
            self._waited_s, self._low_psi = 0.0, None

    def feed(self, now: Situation, noise_psi: float, *, asked: bool) -> None:
        """Take the load of now, and whether a pull is asked for of a load that is behind."""
        psi = now.stress_psi
        _, before_psi, last_psi = self._last_psi or (psi, psi, psi)
        self._last_psi = before_psi, last_psi, psi
        self._is_fine = self._is_fine or 0.0 < abs(psi - last_psi) < _FINE_PSI
        bend_psi = abs(before_psi - 2 * last_psi + psi)
        self._rough_psi += _ROUGHLY * (bend_psi - self._rough_psi)
        if asked or self.silent:
            self._watch_move(now, noise_psi)
            self._watch_answer(now, noise_psi)
        else:
            self.stalled_s, self._waited_s, self._low_psi, self._still_psi = 0.0, 0.0, None, None
            self._top_psi = -math.inf
        self._silent_s = self._silent_s + now.since_last_s if self.silent else 0.0
        if self.silent:
            self.longest_s = max(self.longest_s, self._patience_s + self._silent_s)

    def _watch_move(self, now: Situation, noise_psi: float) -> None:
        """A slip of the lever is no answer yet, but shows that the hand pulls."""
        self.stalled_s += now.since_last_s
        quiet = noise_psi < _QUIET_PSI
        noise_psi = at_least(noise_psi, _BENT * self._rough_psi)
        _, last_psi, psi = self._last_psi or (0.0, 0.0, 0.0)
        low_psi, sure_psi = (last_psi, psi) if last_psi > psi else (psi, last_psi)
        if self._still_psi is None or low_psi < self._still_psi:
            self._still_psi = low_psi
        if sure_psi - self._still_psi >= at_least(_MOVES * noise_psi, _LEAST_MOVE_PSI):
            self.stalled_s, self._still_psi, self._top_psi = 0.0, low_psi, sure_psi
            self._is_quiet = quiet
        self._top_psi = at_least(self._top_psi, sure_psi)
        self._level_s += now.since_last_s
        if not 0 <= self._fell_psi - self._still_psi < _FALLS_ON_PSI:
            self._fell_psi, self._level_s = self._still_psi, 0.0
        sags = (self.sags and self._waited_s > 0) or self._sags_now(noise_psi)
        self.sags = sags and self._level_s < _LEVEL_S
        self._patience_s = self._patient_s(now)

    def _sags_now(self, noise_psi: float) -> bool:
        if self.stalled_s <= _SAG_SEEN_S:
            return False
        least_psi = max(_LEAST_SAG_PSI, _SAG_NOISES * noise_psi, _SAGS_PSI_S * self.stalled_s)
        return self._top_psi - max(self._last_psi) >= least_psi

    def _patient_s(self, now: Situation) -> float:
        if now.state is SEATING:
            return _SEATING_PATIENCE_S
        late_s = _PERIODS * now.period_s
        if self.sags:
            return min(_LONGER * self._along_s, _SAGGING_PATIENCE_S) + late_s
        if self._is_fine and self._is_quiet and self.stalled_s >= _LEVEL_PATIENCE_S + late_s:
            return min(max(_LEVEL_SHARE * self._along_s, _LEVEL_PATIENCE_S), _PATIENCE_S)
        patience_s = min(max(self._along_s, _LEAST_PATIENCE_S + late_s), _PATIENCE_S)
        return patience_s + max(_JUST_S - self.stalled_s, 0.0)

    def _watch_answer(self, now: Situation, noise_psi: float) -> None:
        # Only while readings come: what the load did in a gap is unknown.
        self._waited_s += now.since_last_s
        seating = now.state is SEATING
        if self.silent and self._waited_s > self._patience_s:
            # Since it fell silent, the pace of an answer counts from a moment ago.
            self._waited_s, self._low_psi = 0.0, None
        low_psi, sure_psi = max(self._last_psi), min(self._last_psi)
        self._since_low_s += now.since_last_s
        if self._low_psi is None or low_psi < self._low_psi:
            self._low_psi, self._since_low_s = low_psi, 0.0
        low_psi = self._low_psi
        share = _SEATING_SHARE if seating else _SHARE
        # A slip is over by the time that three slow readings have shown it.
        slipped_psi_s = (sure_psi - low_psi) / at_least(self._since_low_s, 1e-9)
        gains = at_least(now.speed_psi_s, slipped_psi_s) >= share * now.rate_psi_s
        if gains and sure_psi - low_psi >= at_least(_NOISES * noise_psi, _LEAST_PSI):
            self.silent = False
            self.answered()
            self._waited_s, self._low_psi, self._since_low_s = 0.0, sure_psi, 0.0
        elif self._waited_s >= self._patience_s:
            self.silent = True
