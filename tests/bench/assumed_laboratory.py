"""Is a stated probability right where all that the model of the class assumes is true?

`simulated_laboratory` has sands and sieves of its own, so that it also judges what `method` assumes
of them. Here each is drawn from just that, and the laboratory knows its deviations: what is then
off is a fault of the reckoning, and what is off there alone is what no laboratory could know.
Source: S. R. Cook, A. Gelman and D. B. Rubin, Validation of Software for Bayesian Models Using
Posterior Quantiles (2006), from memory.

    python tests/bench/assumed_laboratory.py [SAMPLES] [SEED]
"""

import math
import sys

from simulated_laboratory import (
    LIMIT_PCT,
    SHARED_PCT,
    STAFF_PCT,
    STRESSES_PSI,
    WITHIN_PCT,
    Laboratory,
    lines,
)

from ramphold.method.precision import Precision, Spread

# As `class_posterior` and `pair_hypotheses` have them.
_SLOPE, _SLOPE_SD, _BEND_SD = 3.0, 1.0, 0.3
_DEPARTURES, _DEPARTING = (0.0, 0.1, 0.5), (0.7, 0.2, 0.1)
_SHARES, _SHARING = (0.03, 0.12, 0.2, 0.3, 0.45), (0.15, 0.2, 0.25, 0.25, 0.15)
#: Log-odds of the middle stress, to either side of the limit's: any height is as likely.
_HEIGHTS = 2.5
_MIDDLE = math.fsum(map(math.log, STRESSES_PSI)) / len(STRESSES_PSI)
_BETWEEN_PCT = math.hypot(*SHARED_PCT.values(), *(sd for sd, _ in STAFF_PCT.values()))


class AssumedSand:
    """A curve as the model draws them, and how far each stress departs from it."""

    def __init__(self, chance):
        limit = math.log(LIMIT_PCT / (100 - LIMIT_PCT))
        self.height = limit + chance.uniform(-_HEIGHTS, _HEIGHTS)
        self.slope = chance.gauss(_SLOPE, _SLOPE_SD)
        self.bend = chance.gauss(0, _BEND_SD)
        (departure,) = chance.choices(_DEPARTURES, _DEPARTING)
        self.departures = {psi: chance.gauss(0, departure) for psi in STRESSES_PSI}

    def pct(self, stress_psi):
        x = math.log(stress_psi) - _MIDDLE
        odds = self.height + self.slope * x + self.bend * x * x + self.departures[stress_psi]
        return 100 / (1 + math.exp(-odds))


class AssumedLaboratory(Laboratory):
    """Its deviations are known, and its sieves do to the fines what the model says they do."""

    fragments = 1.0

    def __init__(self, chance, known):
        (self.passing_sd,) = chance.choices(_SHARES, _SHARING)
        super().__init__(chance, known)
        self.precision = Precision(
            within=Spread(sd=WITHIN_PCT, dof=math.inf),
            between=Spread(sd=_BETWEEN_PCT, dof=math.inf),
        )

    def sand(self, chance):
        return AssumedSand(chance)


if __name__ == "__main__":
    words = sys.argv[1:]
    count, start = (words + ["4000", "1"][len(words) :])[:2]
    for line in lines(int(count), start, intervals=False, kind=AssumedLaboratory):
        print(line, flush=True)
