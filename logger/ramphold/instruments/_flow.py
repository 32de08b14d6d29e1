"""How fast an instrument may send before it counts as a flood."""

__all__ = ["Flow"]

_NS_PER_S = 1_000_000_000

#: Well over 80 lines a second of the longest shape, and the most that is read in a second.
_PER_S = 20_000
_BURST = 40_000
#: What a frame costs beside its bytes.
_FRAME = 20
_LONGEST_WAIT_S = 0.25


class Flow:
    """Counts what comes, in bytes, against what may come.

    Args:
        t_ns: time in ns from which it counts.
    """

    def __init__(self, t_ns: int) -> None:
        self._t_ns = t_ns
        self._credit = float(_BURST)

    def take(self, t_ns: int, size: int, frames: int) -> float:
        """Take bytes and frames that came by a time in ns; how long to wait before the next, in s.

        0 unless more has come than may.
        """
        earned = (t_ns - self._t_ns) / _NS_PER_S * _PER_S
        self._t_ns = t_ns
        self._credit = min(self._credit + earned, _BURST) - size - _FRAME * frames
        # Bounded, since a clock that is given may stand still.
        return min(max(0.0, -self._credit / _PER_S), _LONGEST_WAIT_S)
