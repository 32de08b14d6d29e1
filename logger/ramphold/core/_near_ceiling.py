"""Whether a pull is about to cross the ceiling."""

import math

from ramphold.core._bounds import at_least, at_most
from ramphold.core._situation import Situation
from ramphold.core._stalls import MOST_PACE

#: A hand that has not stopped so long after its delay does not heed the cue.
_HEEDED_S = 0.3
#: A pull is like the top-ups of a hand up to so many times their pace.
_LIKE_TOP_UPS = 2.0


def is_near(
    now: Situation, delay_s: float, *, told_s: float = math.inf, topping_psi_s: float = 0.0
) -> bool:
    """Whether the load would be over the ceiling once the hand has answered.

    One slip of a lever is no pull, and a load that has turned does not rise on.

    Args:
        now: the load.
        delay_s: how late the hand answers.
        told_s: for how long it has been told to stop; infinite where it has not been.
        topping_psi_s: how fast its top-ups are, where this may be one; 0 where it is none.
    """
    if not now.gains:
        return now.stress_psi >= now.ceiling_psi
    late_s = delay_s
    usual_psi_s = at_least(MOST_PACE * now.rate_psi_s, _LIKE_TOP_UPS * topping_psi_s)
    if now.slow_psi_s <= usual_psi_s and told_s < now.lag_s + delay_s + _HEEDED_S:
        # Whoever was told to stop already pulls on for the rest of his delay alone.
        late_s = at_least(delay_s - told_s, 0.0)
    speed_psi_s = at_least(at_most(now.slow_psi_s, now.speed_psi_s), 0.0)
    return now.stress_psi + speed_psi_s * (now.lag_s + late_s) >= now.ceiling_psi
