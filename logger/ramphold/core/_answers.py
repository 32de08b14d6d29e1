"""Whether the load answers what is cued: one that does not is stuck, or nobody pumps."""

from ramphold.core._situation import Situation
from ramphold.core._states import RunState

#: So long a pull may be cued with nothing gained; in the seating a piston may settle.
_PATIENCE_S = 3.0
_SEATING_PATIENCE_S = 5.0
#: So many strokes or top-ups in a row may be called with nothing gained.
MOST_STROKES, MOST_TOP_UPS = 2, 3
#: Less than this share of an even pull is no answer: an instrument may drift.
_SHARE, _SEATING_SHARE = 0.25, 0.08
#: Nor is what noise alone may look like, in standard deviations of it.
_NOISES = 6.0
_LEAST_PSI = 8.0


class AnswerWatch:
    """Watches whether the load gains while the hand is asked to pull.

    Attributes:
        silent: whether the load does not answer; it stays so until the load gains again.
        longest_s: longest time that it did not, 0 where it always did.
    """

    def __init__(self) -> None:
        self.silent = False
        self.longest_s = 0.0
        #: For how long a pull has been asked for with nothing gained, in s.
        self.stalled_s = 0.0
        self._silent_s = 0.0
        self._low_psi: float | None = None
        self._called = 0

    def called(self, *, answered: bool, most: int) -> None:
        """A stroke or a top-up was called, and answered or not."""
        self._called = 0 if answered else self._called + 1
        if self._called >= most and not self.silent:
            self.silent = True
            self.stalled_s, self._low_psi = 0.0, None

    def feed(self, now: Situation, noise_psi: float, *, asked: bool) -> None:
        """Take the load of now, and whether a pull is asked for of a load that is behind."""
        if asked or self.silent:
            self._watch(now, noise_psi)
        else:
            self.stalled_s, self._low_psi = 0.0, None
        self._silent_s = self._silent_s + now.since_last_s if self.silent else 0.0
        if self.silent:
            self.longest_s = max(self.longest_s, _PATIENCE_S + self._silent_s)

    def _watch(self, now: Situation, noise_psi: float) -> None:
        # Only while readings come: what the load did in a gap is unknown.
        self.stalled_s += now.since_last_s
        seating = now.state is RunState.SEATING
        if self.silent and self.stalled_s > _PATIENCE_S:
            # Since it fell silent, the pace of an answer counts from a moment ago.
            self.stalled_s, self._low_psi = 0.0, None
        low_psi = now.stress_psi if self._low_psi is None else min(self._low_psi, now.stress_psi)
        share = _SEATING_SHARE if seating else _SHARE
        pulled_psi = share * now.rate_psi_s * max(self.stalled_s, 1.0)
        self._low_psi = low_psi
        if now.stress_psi - low_psi >= max(pulled_psi, _NOISES * noise_psi, _LEAST_PSI):
            self.silent, self._called = False, 0
            self.stalled_s, self._low_psi = 0.0, now.stress_psi
        elif self.stalled_s >= (_SEATING_PATIENCE_S if seating else _PATIENCE_S):
            self.silent = True
