"""Finds where the load rises and where it rests: strokes, pulls and the pauses between them."""

from collections import deque

from msgspec import Struct

_NS_PER_S = 1_000_000_000


class Rise(Struct, frozen=True, kw_only=True):
    """A time over which the load rose: one stroke, or one pull between two lever returns.

    Attributes:
        start_ns, end_ns: when it began and ended.
        before_psi, after_psi: the load then.
        sagged_psi_s: how fast the load fell in the rest before it; None where that was too short.
    """

    start_ns: int
    end_ns: int
    before_psi: float
    after_psi: float
    sagged_psi_s: float | None

    @property
    def lasted_s(self) -> float:
        """Length in s."""
        return (self.end_ns - self.start_ns) / _NS_PER_S


class Rises:
    """Watches a steadied load for rises.

    A rise begins where the load gains `BEGIN_PSI` within 0.4 s, dated back to the lowest value
    in that time, and ends at the highest value once less than `END_PSI` comes within 0.3 s.
    """

    BEGIN_PSI = 10.0
    END_PSI = 2.5
    _BEGIN_NS = 400_000_000
    _END_NS = 300_000_000
    _LEAST_REST_NS = 700_000_000
    # Just after a stroke the load falls fastest; the pacing needs what follows.
    _SETTLE_NS = 300_000_000
    # A load with no higher value for so long has turned.
    _TURNED_NS = 150_000_000
    # What happened in a gap this long is unknown.
    _GAP_NS = 1_000_000_000

    def __init__(self) -> None:
        # With the time negative the least of these is the latest of the lowest.
        self._recent: deque[tuple[float, int]] = deque()
        self._start: tuple[int, float] | None = None
        self._top: tuple[int, float] | None = None
        self._rest: tuple[int, float] | None = None
        self._sagged_psi_s: float | None = None

    @property
    def rising_since_ns(self) -> int | None:
        """When the rise now going on began; None while the load rests."""
        return None if self._start is None else self._start[0]

    def gains(self, t_ns: int, period_ns: int) -> bool:
        """Whether the present rise, as of its last steadied load at `t_ns`, has gained of late."""
        if self._start is None or self._top is None:
            return False
        return t_ns - self._top[0] < max(self._TURNED_NS, 3 * period_ns // 2)

    def feed(self, t_ns: int, stress_psi: float) -> Rise | None:
        """Take the next steadied stress; the rise that has just ended, if one has."""
        recent = self._recent
        if recent and t_ns + recent[-1][1] > self._GAP_NS:
            self._start = self._rest = None
        recent.append((stress_psi, -t_ns))
        since_ns = t_ns - (self._BEGIN_NS if self._start is None else self._END_NS)
        while -recent[0][1] < since_ns:
            recent.popleft()
        if self._start is None:
            self._look_for_start(t_ns, stress_psi)
            return None
        if self._top is None or stress_psi > self._top[1]:
            self._top = t_ns, stress_psi
        if t_ns - self._start[0] < self._END_NS:
            return None
        since_psi, _ = recent[0]
        if stress_psi - since_psi >= self.END_PSI:
            return None
        return self._end()

    def _look_for_start(self, t_ns: int, stress_psi: float) -> None:
        low_psi, ago_ns = min(self._recent)
        if stress_psi - low_psi >= self.BEGIN_PSI:
            low = -ago_ns, low_psi
            self._sagged_psi_s = self._sag(low)
            self._start, self._top = low, (t_ns, stress_psi)
        elif self._rest is None and self._top and t_ns - self._top[0] >= self._SETTLE_NS:
            self._rest = t_ns, stress_psi

    def _sag(self, low: tuple[int, float]) -> float | None:
        if self._rest is None or low[0] - self._rest[0] < self._LEAST_REST_NS:
            return None
        return (self._rest[1] - low[1]) * _NS_PER_S / (low[0] - self._rest[0])

    def _end(self) -> Rise:
        assert self._start is not None  # noqa: S101 - only called within a rise
        assert self._top is not None  # noqa: S101 - set with the start
        rise = Rise(
            start_ns=self._start[0],
            end_ns=self._top[0],
            before_psi=self._start[1],
            after_psi=self._top[1],
            sagged_psi_s=self._sagged_psi_s,
        )
        self._start = self._rest = None
        # Or the flank of this rise would begin another.
        self._recent.clear()
        return rise
