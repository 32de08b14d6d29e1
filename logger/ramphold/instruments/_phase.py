"""Tracks when conversions end, from the times at which the converter was seen ready.

A frame is whole only if no conversion ended within it. A reader that the scheduler delayed did not
see the conversion end, and knows only two times between which it did.
"""

import statistics

#: Relative tolerance of the measured period.
_OFF = 0.06
_LEARNING = 1 / 32
#: Number of gaps from which the period is measured, how many must agree, and how closely.
_GAPS, _AGREEING, _AGREE = 8, 6, 0.2
#: With more conversions in one gap, the phase is lost.
_MOST_STEPS = 2
#: After this many resets without a conversion when due, the period is measured anew.
_MOST_LOST = 20
#: When to look again, and when to give up, in periods.
_LOOK, _OVERDUE = 0.8, 2.2


class Phase:
    """The period of conversions, and bounds on the end of the newest one, all in ns.

    Args:
        nominal_ns: the nominal period; the true one is measured before it is used.
    """

    def __init__(self, nominal_ns: int) -> None:
        self.period_ns = nominal_ns
        #: Whether the true period has been measured.
        self.found = False
        #: Whether the newest conversion came when it was due after the one before. A wire that is
        #: reconnected shows one that ended some time ago.
        self.due = False
        self._early_ns = self._late_ns = 0
        self._placed = False
        self._gaps: list[int] = []
        self._lost = 0

    @property
    def ended_ns(self) -> int:
        """Latest possible end of the newest conversion."""
        return self._late_ns

    @property
    def look_ns(self) -> int:
        """When to look for the next one."""
        return self._early_ns + round(_LOOK * self.period_ns)

    @property
    def overdue_ns(self) -> int:
        """When the next one must have ended, however late the newest was."""
        return self._late_ns + round(_OVERDUE * self.period_ns)

    def lose(self) -> None:
        """Note that the converter was reset, so its next conversion ends at an unknown time."""
        self._placed = False
        self._gaps.clear()
        self._lost += 1
        self.found = self.found and self._lost < _MOST_LOST

    def place(self, busy_ns: int | None, seen_ns: int) -> bool:
        """Note that a conversion was seen ready; False if the time of its end is unknown.

        Args:
            busy_ns: last time the converter was busy; None if not since the last frame.
            seen_ns: time at which it was seen ready.
        """
        if not self._placed or not self.found:
            return self._place_first(busy_ns, seen_ns)
        least_ns, most_ns = (round(self.period_ns * (1 + off)) for off in (-_OFF, _OFF))
        if seen_ns < self._early_ns + least_ns:
            return False
        # At least this many have ended; `fits` fails if there may have been one more.
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
        """Whether a frame read until `end_ns` contains only the newest conversion."""
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
