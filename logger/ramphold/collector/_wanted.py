"""When to ask a bench for records that are missing. Time is given, in s; no I/O.

Messages overtake each other, so a gap must have stood for a while before it is one; and a bench
that is away, or can't give what is asked for, is asked again ever more seldom. A gap that is being
filled begins at another number each time, and nobody asks. One that is not to be seen for a while,
as when its bench tries to send what the broker does not take, is not forgotten.
"""

from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Wanted"]

Ranges = tuple[tuple[int, int], ...]

# Ours: how long a gap must stand, and how seldom it is asked for at most.
_STANDS_S = 10.0
_SELDOM_S = 3600.0
# What a receipt holds; the rest is asked for once these are there.
_MOST_RANGES = 100


@dataclass(slots=True)
class _Gap:
    due_s: float
    wait_s: float
    asked: bool = False


class Wanted:
    """What is missing of each series, and when it is asked for.

    Args:
        stands_s: how long a gap must stand before it is asked for.
    """

    def __init__(self, stands_s: float = _STANDS_S) -> None:
        self._stands_s = stands_s
        self._gaps: dict[str, dict[int, _Gap]] = {}

    def due(self, series: str, missing: Sequence[tuple[int, int]], now_s: float) -> Ranges:
        """What to ask for now, given all that is missing; nothing most of the time."""
        ranges = missing[:_MOST_RANGES]
        there = {first for first, _ in ranges}
        gaps = {
            first: gap
            for first, gap in self._gaps.get(series, {}).items()
            if first in there or (gap.asked and now_s < gap.due_s + _SELDOM_S)
        }
        wanted = []
        for first, last in ranges:
            gap = gaps.setdefault(first, _Gap(now_s + self._stands_s, self._stands_s))
            if now_s >= gap.due_s:
                gap.asked = True
                gap.wait_s = min(2 * gap.wait_s, _SELDOM_S)
                gap.due_s = now_s + gap.wait_s
                wanted.append((first, last))
        self._gaps[series] = gaps
        return tuple(wanted)
