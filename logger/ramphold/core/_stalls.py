"""What is asked of a hand whose pull gains nothing: it may be slow, back at once, or unread."""

from ramphold.core._answers import AnswerWatch, said_again

#: The pace asked for, as shares of an even pull: a hand that is never asked to stop does not
#: oscillate, and one that is never asked to hurry does not overshoot.
LEAST_PACE, MOST_PACE = 0.5, 1.5
#: Slips of a lever come closer than this.
_SLIPS_S = 0.3
#: A pull that gains nothing for so long is asked for slowly, and said in another word.
_NOT_FASTER_AFTER_S, _SLOW_AFTER_S, _SAY_AGAIN_AFTER_S = 0.5, 0.7, 1.3
#: The distance shown then, as time of an even pull: a little behind, then a little ahead.
_SLOWER_S, _PULL_AGAIN_S = -0.2, 0.15
_FURTHER_PER_S, _FURTHER_S = 0.4, 1.0


class Stall:
    """What is shown while the load does not move up.

    Args:
        answers: for how long it has not, and whether it sags.
    """

    def __init__(self, answers: AnswerWatch) -> None:
        self._answers = answers
        self._moved_at_psi = 0.0

    @property
    def most_pace(self) -> float:
        """The fastest pace to be asked for, as a share of an even pull."""
        stalled_s = self._answers.stalled_s
        if stalled_s > _SLOW_AFTER_S and not self._answers.sags:
            return LEAST_PACE
        return MOST_PACE if stalled_s < _NOT_FASTER_AFTER_S else 1.0

    @property
    def is_said_again(self) -> bool:
        """Whether the pull is asked for in its other word."""
        return said_again(self._answers.stalled_s - _SAY_AGAIN_AFTER_S)

    def distance_psi(self, distance_psi: float, even_psi_s: float) -> float:
        """How far the mark is ahead, where the guide has it `distance_psi` ahead."""
        stalled_s, sags = self._answers.stalled_s, self._answers.sags
        if stalled_s <= _SLIPS_S:
            self._moved_at_psi = distance_psi
        if stalled_s <= _SLOW_AFTER_S:
            return distance_psi
        if not sags:
            # A reading that sticks looks like a hand that pulls ever more slowly, and the guide
            # asks for more. Half the distance is half the pace at least, whatever the hand.
            distance_psi = min(distance_psi, max(self._moved_at_psi / 2, 0.0))
        # A hand is told to go slower for a moment, and never to stop.
        least_s = _SLOWER_S if stalled_s < _SAY_AGAIN_AFTER_S else _PULL_AGAIN_S
        if sags:
            # The reading lives, so the hand does not pull: more is asked, by and by.
            over_s = max(stalled_s - _SAY_AGAIN_AFTER_S, 0.0)
            least_s = min(least_s + _FURTHER_PER_S * over_s, _FURTHER_S)
        return max(distance_psi, least_s * even_psi_s)
