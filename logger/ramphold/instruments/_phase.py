"""When conversions end: a converter's own clock, followed by when it was seen ready.

Whoever reads a frame must know that no conversion ended within it. A reader that the scheduler
held up has not seen the conversion end, and knows only between which two moments it must have.
"""

import statistics

__all__ = ["Phase"]

#: How far, as a share, the period may be off from what was found.
_OFF = 0.06
_LEARNING = 1 / 32
#: Gaps that the period is first found from, how many must agree, and how well.
_GAPS, _AGREEING, _AGREE = 8, 6, 0.2
#: Beyond this many conversions in one gap, what happened in it is anyone's guess.
_MOST_STEPS = 2
#: After so many resets without a conversion when it was due, the period is found anew.
_MOST_LOST = 20
#: When to look again, and when to give up, in periods.
_LOOK, _OVERDUE = 0.8, 2.2


class Phase:
    """The period of conversions, and bounds of when the newest one ended, all in ns.

    Args:
        nominal_ns: the period as it is meant to be; the true one is found before it is used.
    """

    def __init__(self, nominal_ns: int) -> None:
        self.period_ns = nominal_ns
        #: Whether the true period has been found.
        self.found = False
        #: Whether the newest conversion came when the one before it made it due. A wire that is
        #: joined again shows one that ended at some time before.
        self.due = False
        self._early_ns = self._late_ns = 0
        self._placed = False
        self._gaps: list[int] = []
        self._lost = 0

    @property
    def ended_ns(self) -> int:
        """When the newest conversion had ended at the latest."""
        return self._late_ns

    @property
    def look_ns(self) -> int:
        """When to look for the next one."""
        return self._early_ns + round(_LOOK * self.period_ns)

    @property
    def overdue_ns(self) -> int:
        """When the next one must have come, however late the newest was."""
        return self._late_ns + round(_OVERDUE * self.period_ns)

    def lose(self) -> None:
        """The converter was reset: its next conversion ends at some time of its own."""
        self._placed = False
        self._gaps.clear()
        self._lost += 1
        self.found = self.found and self._lost < _MOST_LOST

    def place(self, busy_ns: int | None, seen_ns: int) -> bool:
        """Take that a conversion was seen ready; False where it can't be told when it ended.

        Args:
            busy_ns: when the converter was last seen busy; None if not since the last frame.
            seen_ns: when it was seen ready.
        """
        if not self._placed or not self.found:
            return self._place_first(busy_ns, seen_ns)
        least_ns, most_ns = (round(self.period_ns * (1 + off)) for off in (-_OFF, _OFF))
        if seen_ns < self._early_ns + least_ns:
            return False
        # At least this many have ended; `fits` fails where there may have been one more.
        steps = max(1, (seen_ns - self._late_ns) // most_ns)
        early_ns, late_ns = self._early_ns + steps * least_ns, seen_ns
        if busy_ns is None:
            late_ns = min(seen_ns, self._late_ns + steps * most_ns)
        else:
            early_ns = busy_ns
            gap_ns = seen_ns - self._late_ns
            if abs(gap_ns - self.period_ns) < _AGREE * self.period_ns:
                self.period_ns += round(_LEARNING * (gap_ns - self.period_ns))
        self._early_ns, self._late_ns, self.due = early_ns, late_ns, True
        self._lost = 0
        return steps <= _MOST_STEPS

    def fits(self, end_ns: int) -> bool:
        """Whether a frame of the newest conversion that ended at `end_ns` holds no other."""
        return end_ns < self._early_ns + round((1 - _OFF) * self.period_ns)

    def _place_first(self, busy_ns: int | None, seen_ns: int) -> bool:
        if busy_ns is None:
            return False
        if self._placed:
            self._gaps.append(seen_ns - self._late_ns)
        self._early_ns, self._late_ns, self._placed = busy_ns, seen_ns, True
        self.due = False
        if len(self._gaps) == _GAPS:
            middle = statistics.median(self._gaps)
            agreeing = [gap for gap in self._gaps if abs(gap - middle) < _AGREE * middle]
            self._gaps.clear()
            if len(agreeing) >= _AGREEING:
                self.period_ns = round(statistics.fmean(agreeing))
                self.found = True
        return True
