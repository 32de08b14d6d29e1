"""How long a top-up is cued, by what this hand gained in those before.

A hand starts and stops about equally late, so a cue that is up for a time makes a pull of that
time, however slow the eyes: the time is chosen so that the gain expected of it reaches the aim.
Eyes that look twice a second may miss a short one whole, so an unanswered one is made longer.
"""

from ramphold.core._accounts import seconds
from ramphold.core._bounds import at_least, at_most

_SHORTEST_S, _LONGEST_S = 0.25, 3.0
_LEARN, _MOST_TIMES = 0.45, 3.0
_SLOWEST_PER_S, _FASTEST_PER_S = 0.005, 0.5
#: Less than this share of what was expected, or than noise may look like, is no answer.
_ANSWERED, _NOISES, _LEAST_PSI = 0.1, 4.0, 3.0
_LENGTHEN = 1.3


def least_psi(noise_psi: float) -> float:
    """What has to be gained to be a gain, where the readings' noise has this standard deviation."""
    return at_least(_NOISES * noise_psi, _LEAST_PSI)


class TopUps:
    """Learns what a top-up gains for each second that it is cued.

    Args:
        per_s: what it gains at first, in full strokes/s.
    """

    def __init__(self, per_s: float) -> None:
        self.per_s = min(max(per_s, _SLOWEST_PER_S), _FASTEST_PER_S)
        #: Top-ups in a row that the load did not answer.
        self.unanswered = 0

    def psi_s(self, gain_psi: float) -> float:
        """Gain for each second of cue, in psi/s, on a press that gains so much a stroke."""
        return self.per_s * gain_psi

    def lasts_s(self, wanted_psi: float, gain_psi: float) -> float:
        """How long to cue for a gain: longer after a cue that was likely not seen."""
        lasts_s = max(wanted_psi / self.psi_s(gain_psi), _SHORTEST_S)
        return min(lasts_s * (1 + self.unanswered), _LONGEST_S)

    def made(self, topped: "TopUp", gain_psi: float, noise_psi: float) -> None:
        """Learn from one that is over."""
        before = self.psi_s(gain_psi)
        lasted_s, gained_psi = topped.lasted_s, topped.gained_psi
        expected_psi = lasted_s * before
        asked_psi = max(_ANSWERED * expected_psi, least_psi(noise_psi))
        if max(gained_psi, topped.kept_psi) < asked_psi:
            self.unanswered += 1
            if self.unanswered > 1:
                # A lever that sticks gathers a while before it moves.
                self._learn(1 / _LENGTHEN)
            return
        self.unanswered = 0
        times = gained_psi / max(lasted_s, _SHORTEST_S) / before
        self._learn(min(max(times, 1 / _MOST_TIMES), _MOST_TIMES) ** _LEARN)

    def _learn(self, times: float) -> None:
        self.per_s = min(max(self.per_s * times, _SLOWEST_PER_S), _FASTEST_PER_S)


class TopUp:
    """One top-up, and what the load did since.

    Args:
        start_ns, stress_psi: when it was cued, and the load then.
        lasts_s: for how long.
        fell_psi_s: how fast the load fell before.

    Attributes:
        gained_psi: what the load gained from its lowest.
        kept_psi: what it gained against a load that falls on at half the pace; creep slows down.
        lasted_s: for how long it was cued in the end.
    """

    _FALLS_ON = 0.5

    def __init__(
        self, start_ns: int, stress_psi: float, lasts_s: float, fell_psi_s: float = 0.0
    ) -> None:
        self.start_ns = start_ns
        self.lasts_s = lasts_s
        self.gained_psi = self.kept_psi = self.lasted_s = 0.0
        self._start_psi = self._low_psi = stress_psi
        self._falls_psi_s = self._FALLS_ON * max(fell_psi_s, 0.0)

    def feed(self, t_ns: int, stress_psi: float) -> None:
        """Take the load."""
        self._low_psi = at_most(self._low_psi, stress_psi)
        self.gained_psi = at_least(self.gained_psi, stress_psi - self._low_psi)
        alone_psi = self._start_psi - self._falls_psi_s * seconds(t_ns - self.start_ns)
        self.kept_psi = at_least(self.kept_psi, stress_psi - alone_psi)
