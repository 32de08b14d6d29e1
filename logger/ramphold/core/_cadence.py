"""How often readings come, as far as the last few of them tell."""

from collections import deque

_KEPT, _TELLING = 5, 3
#: Readings rarer than this can't lead a hand, and count as gaps.
_SLOWEST_NS = 1_200_000_000
#: A reading may be so many periods late before the load counts as unknown.
_PERIODS = 2.5


class Cadence:
    """The usual time between two readings."""

    def __init__(self) -> None:
        self._spans_ns: deque[int] = deque(maxlen=_KEPT)

    def feed(self, span_ns: int) -> None:
        """Take the time since the reading before."""
        self._spans_ns.append(span_ns)

    @property
    def period_ns(self) -> int:
        """Median of the last spans, within what can lead a hand; 0 before it is known."""
        if len(self._spans_ns) < _TELLING:
            return 0
        return min(sorted(self._spans_ns)[len(self._spans_ns) // 2], _SLOWEST_NS)

    def stale_ns(self, least_ns: int) -> int:
        """Time without a reading after which the load counts as unknown."""
        return max(least_ns, round(_PERIODS * self.period_ns))
