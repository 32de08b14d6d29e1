"""The user's own hand on the simulated lever, worked by keys or by a force."""

from ramphold.sim._hand import Hand
from ramphold.sim._model import LeverMove

_NS_PER_S = 1_000_000_000
# Longer than a keyboard waits before it repeats a held key.
_PULL_NS = round(0.6 * _NS_PER_S)
# One notch of a wheel: seven or eight a second keep up with 2000 psi/min.
_SLIP_NS = round(0.08 * _NS_PER_S)
# In strokes a second: light until the piston touches, then somewhat faster than any bed needs at
# 2000 psi/min, so that letting go sets the pace.
_LIGHT_PER_S, _HEAVY_PER_S = 0.25, 0.09
# A force is a pace: this much at full force, so that the ramp asks for about a third of it.
_LIGHTEST_PER_S, _HEAVIEST_PER_S = 0.5, 0.1
_CONTACT_PSI = 20.0


class OwnHand:
    """Pulls for a moment at each call, so that a held key makes one slow squeeze.

    A force on the lever pulls as long as it lasts, at a pace that goes by it.

    Args:
        hand: the hand on the lever; it is as uneven as ever and brings the lever back up.
    """

    def __init__(self, hand: Hand) -> None:
        self._hand = hand
        self._pull_until_ns = 0
        self._pushed = 0.0
        self._valve_open = False
        self._t_ns: int | None = None

    def squeeze(self, t_ns: int) -> None:
        """Pull for a moment from now on."""
        self._valve_open = False
        self._pull_until_ns = t_ns + _PULL_NS

    def slip(self, t_ns: int) -> None:
        """Pull a little further than any pull that is under way."""
        self._valve_open = False
        self._pull_until_ns = max(self._pull_until_ns, t_ns) + _SLIP_NS

    def push(self, share: float) -> None:
        """Press on the lever from now on with a share of the full force."""
        self._pushed = min(max(share, 0.0), 1.0)
        self._valve_open = self._valve_open and not self._pushed

    def stroke(self, size: float) -> None:
        """Make a stroke of `size` full strokes, unless another is under way."""
        self._valve_open = False
        self._pull_until_ns = 0
        if not self._hand.busy:
            self._hand.stroke(size)

    def release(self) -> None:
        """Open the valve until the lever is pulled again."""
        self._valve_open = True
        self._pull_until_ns = 0

    def act(self, t_ns: int, stress_psi: float) -> LeverMove:
        """The move since the last call, against a stress in psi."""
        elapsed_s = 0.0 if self._t_ns is None else (t_ns - self._t_ns) / _NS_PER_S
        self._t_ns = t_ns
        if self._valve_open:
            return LeverMove(valve_open=True)
        if not self._hand.busy:
            light = stress_psi < _CONTACT_PSI
            per_s = self._pushed * (_LIGHTEST_PER_S if light else _HEAVIEST_PER_S)
            if t_ns <= self._pull_until_ns:
                per_s = _LIGHT_PER_S if light else _HEAVY_PER_S
            self._hand.pull(per_s)
        return self._hand.move(elapsed_s)
