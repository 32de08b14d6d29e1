"""The load since the ramp began, as far as this screen has seen it or was told."""

from ramphold.control.run_methods import Live
from ramphold.control.run_queries import LoadCurve

# Finer than the widest plot; a quarter of an hour stays under two thousand points.
_STEP_S = 0.5
# If more steps than these lie between two readings, some were not seen here.
_UNSEEN = 4


class LoadHistory:
    """Least and greatest stress of each half second of a run.

    Attributes:
        unseen: the run of which a part was missed here, until `fill` has it.
    """

    def __init__(self) -> None:
        self.unseen: int | None = None
        self._run: int | None = None
        self._ranges: dict[int, tuple[float, float]] = {}
        self._last_step = 0

    def add(self, live: Live) -> None:
        """Add the newest load; a new run starts a new history."""
        snapshot = live.snapshot
        if live.run is None or snapshot is None:
            return
        if live.run != self._run:
            self._run = live.run
            self._ranges, self._last_step = {}, 0
        if snapshot.ramp_s is None or snapshot.stress_psi is None or snapshot.stale:
            return
        step, psi = int(snapshot.ramp_s / _STEP_S), snapshot.stress_psi
        if step - self._last_step > _UNSEEN:
            self.unseen = self._run
        self._put(step, psi)

    def fill(self, trace: LoadCurve) -> None:
        """Add what the daemon stored of the run, if it is still this one."""
        if trace.run != self._run:
            return
        self.unseen = None
        for line in trace.load_psi:
            for t_s, psi in line:
                if t_s >= 0:
                    self._put(int(t_s / _STEP_S), psi)

    def points(self) -> list[tuple[float, float, float]]:
        """Time in s, least and greatest stress in psi, in the order of time."""
        return [((step + 0.5) * _STEP_S, *self._ranges[step]) for step in sorted(self._ranges)]

    def _put(self, step: int, psi: float) -> None:
        low, high = self._ranges.get(step, (psi, psi))
        self._ranges[step] = (min(low, psi), max(high, psi))
        self._last_step = max(self._last_step, step)
