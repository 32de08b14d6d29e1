"""An invented sand: the fines that a crush makes."""

import math
import random
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Sand:
    """A sand whose fines rise smoothly with the peak stress.

    Attributes:
        ten_pct_psi: stress that crushes a tenth of it.
        steepness: power of the stress that the fines follow at first.
        most_pct: limit of the fines at any stress.
        scatter: relative scatter between specimens, from filling and sieving.
    """

    ten_pct_psi: float = 6000.0
    steepness: float = 2.2
    most_pct: float = 60.0
    scatter: float = 0.05

    def shares_stress_with(self, usual: "Sand") -> float:
        """The stress that does to it what 1 psi does to another."""
        return self.ten_pct_psi / usual.ten_pct_psi

    def fines_pct(self, peak_psi: float) -> float:
        """Fines in % of the charge, without scatter, after a crush at `peak_psi`."""
        at_ten = -math.log1p(-10.0 / self.most_pct)
        asked = at_ten * (max(peak_psi, 0.0) / self.ten_pct_psi) ** self.steepness
        return -self.most_pct * math.expm1(-asked)

    def pan_g(self, charge_g: float, peak_psi: float, rng: random.Random) -> float:
        """Mass in g that passes the lower primary sieve after a crush, with its scatter."""
        share = self.fines_pct(peak_psi) / 100 * math.exp(rng.gauss(0.0, self.scatter))
        return charge_g * min(share, 1.0)


#: Three invented sands, from one for shallow wells to one that nearly is a ceramic.
SANDS = {
    "weak": Sand(ten_pct_psi=3800.0),
    "fair": Sand(),
    "strong": Sand(ten_pct_psi=9500.0),
}
