"""How often readings come, as far as the last few of them tell."""

from collections import deque

from ramphold.core._bounds import at_least, at_most

_KEPT, _TELLING = 5, 3
#: Readings rarer than this can't lead a hand, and count as gaps.
_SLOWEST_NS = 1_200_000_000
#: A reading may be so many periods late before the load counts as unknown.
_PERIODS = 2.5


class Cadence:
    """The usual time between two readings.

    Args:
        stale_ns: time without a reading after which the load counts as unknown, at least.
    """

    def __init__(self, stale_ns: int) -> None:
        self._spans_ns: deque[int] = deque(maxlen=_KEPT)
        #: Median of the last spans, within what can lead a hand; 0 before it is known.
        self.period_ns = 0
        self._least_stale_ns = stale_ns
        #: Time without a reading after which the load counts as unknown.
        self.stale_ns = stale_ns

    def feed(self, span_ns: int) -> None:
        """Take the time since the reading before."""
        self._spans_ns.append(span_ns)
        if len(self._spans_ns) >= _TELLING:
            middle_ns = sorted(self._spans_ns)[len(self._spans_ns) // 2]
            self.period_ns = at_most(middle_ns, _SLOWEST_NS)
            self.stale_ns = at_least(self._least_stale_ns, round(_PERIODS * self.period_ns))
