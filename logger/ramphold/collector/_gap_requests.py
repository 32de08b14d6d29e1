"""When to ask a bench for missing records. The time is given, in s; no I/O.

Messages overtake each other, so a gap must last a while before it counts. A bench that is away, or
cannot supply what is requested, is asked again ever more seldom. While a gap is being filled it
begins at another number each time, so nothing is requested. A gap that disappears for a while is
remembered: its bench may be trying to send what the broker does not accept.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

#: First and last number of each stretch of records.
Ranges: TypeAlias = tuple[tuple[int, int], ...]

# Our own choice: how long a gap must last, and the longest wait between two requests.
_LASTS_S = 10.0
_LONGEST_WAIT_S = 3600.0
# A receipt holds this many; the rest is requested once these have come.
_RANGES_MAX = 100


@dataclass(slots=True)
class _Gap:
    due_s: float
    wait_s: float
    requested: bool = False


class GapRequests:
    """The gaps of each series, and when each is requested.

    Args:
        lasts_s: how long a gap must last before it is requested.
    """

    def __init__(self, lasts_s: float = _LASTS_S) -> None:
        self._lasts_s = lasts_s
        self._gaps: dict[str, dict[int, _Gap]] = {}

    def due(self, series: str, missing: Sequence[tuple[int, int]], now_s: float) -> Ranges:
        """What to request now, given all that is missing; usually nothing."""
        ranges = missing[:_RANGES_MAX]
        there = {first for first, _ in ranges}
        gaps = {
            first: gap
            for first, gap in self._gaps.get(series, {}).items()
            if first in there or (gap.requested and now_s < gap.due_s + _LONGEST_WAIT_S)
        }
        requested = []
        for first, last in ranges:
            gap = gaps.setdefault(first, _Gap(now_s + self._lasts_s, self._lasts_s))
            if now_s >= gap.due_s:
                gap.requested = True
                gap.wait_s = min(2 * gap.wait_s, _LONGEST_WAIT_S)
                gap.due_s = now_s + gap.wait_s
                requested.append((first, last))
        self._gaps[series] = gaps
        return tuple(requested)
