"""The load since the ramp began, as far as this screen has seen it."""

from ramphold.control.methods import Live

__all__ = ["Trail"]

# Finer than the widest trace can show; a quarter of an hour stays under two thousand points.
_STEP_S = 0.5


class Trail:
    """Least and greatest stress of each half second of a run."""

    def __init__(self) -> None:
        self._run: int | None = None
        self._ranges: dict[int, tuple[float, float]] = {}

    def add(self, live: Live) -> None:
        """Take the newest load; another run begins a new trail."""
        snapshot = live.snapshot
        if live.run is None or snapshot is None:
            return
        if live.run != self._run:
            self._run = live.run
            self._ranges = {}
        if snapshot.ramp_s is None or snapshot.stress_psi is None or snapshot.stale:
            return
        step, psi = int(snapshot.ramp_s / _STEP_S), snapshot.stress_psi
        low, high = self._ranges.get(step, (psi, psi))
        self._ranges[step] = (min(low, psi), max(high, psi))

    def points(self) -> list[tuple[float, float, float]]:
        """Time in s, least and greatest stress in psi, in the order of time."""
        return [((step + 0.5) * _STEP_S, *self._ranges[step]) for step in sorted(self._ranges)]
