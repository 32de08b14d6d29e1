"""Limits how fast an instrument may send."""

_NS_PER_S = 1_000_000_000

#: Most bytes a second; well over 80 lines a second of the longest shape.
_PER_S = 20_000
_BURST = 40_000
#: Cost of a frame beside its bytes.
_FRAME = 20
_LONGEST_WAIT_S = 0.25


class Flow:
    """Counts the received bytes against the limit.

    Args:
        t_ns: start time in ns.
    """

    def __init__(self, t_ns: int) -> None:
        self._t_ns = t_ns
        self._credit = float(_BURST)

    def take(self, t_ns: int, size: int, frames: int) -> float:
        """Count bytes and frames received until a time in ns.

        Returns the time in s to wait before the next read: 0 unless the limit is exceeded.
        """
        earned = (t_ns - self._t_ns) / _NS_PER_S * _PER_S
        self._t_ns = t_ns
        self._credit = min(self._credit + earned, _BURST) - size - _FRAME * frames
        # Bounded, because a given clock may stand still.
        return min(max(0.0, -self._credit / _PER_S), _LONGEST_WAIT_S)
