"""What the pacing learns of press, bed and operator while the run goes on."""

import math

from ramphold.core._bounds import at_least, between
from ramphold.core._cues import PacingStart

#: A stroke is measured after the load has begun to sag.
SAGGED = 1.08
_PLAUSIBLE = (0.4, 2.5)
_FACTORS = (0.1, 10.0)
_LOG_FACTORS = (math.log(0.1), math.log(10.0))
#: An operator or a bed may change: the gain is never known better than this.
_LEAST_GAIN_SD, _MOST_GAIN_SD = 0.05, PacingStart().gain_sd
#: Standard deviation of the logarithm of the gain from one bed to the next.
ANOTHER_BED_SD = 0.12
#: What is plausible still, in standard deviations.
_PLAUSIBLY = 2.0
_SCATTERS = (0.2, 4.0)
_STARTING_SCATTERS = (0.2, 4.0)
_SAGS_PER_S = (0.0, 0.02)
_KEEP_LEARNING = 0.2
_LEAST_PSI = 100.0
# Longer than this and the mind was elsewhere.
_LONGEST_ANSWER_S = 1.1
_SHORTEST_ANSWER_S = 0.05


class Learned:
    """Gain, scatter, sag and delay, each started from `PacingStart` and corrected by what is seen.

    The gain has a fixed shape over the load and one learned factor, which cannot run away as two
    free parameters do; how uncertain that factor still is, is kept beside it. It is learned from
    strokes alone: nothing else tells how far the lever went.
    """

    def __init__(self, start: PacingStart) -> None:
        self._log_factor = math.log(between(start.gain_factor, *_FACTORS))
        self._factor_psi = 1000 * math.exp(self._log_factor)
        self._gain_variance = between(start.gain_sd, _LEAST_GAIN_SD, _MOST_GAIN_SD) ** 2
        self._variance = between(start.scatter, *_STARTING_SCATTERS) ** 2
        self.sag_per_s = between(start.sag_per_s, *_SAGS_PER_S)
        self.delay_s = between(start.delay_s, _SHORTEST_ANSWER_S, _LONGEST_ANSWER_S)

    @property
    def start(self) -> PacingStart:
        """What is known now, as what to start from."""
        return PacingStart(
            gain_factor=math.exp(self._log_factor),
            gain_sd=min(math.hypot(self.gain_sd, ANOTHER_BED_SD), _MOST_GAIN_SD),
            scatter=math.sqrt(self._variance),
            sag_per_s=self.sag_per_s,
            delay_s=self.delay_s,
        )

    def gain_psi(self, stress_psi: float) -> float:
        """Likeliest load gained by a full stroke at a load, in psi."""
        kpsi = at_least(stress_psi, _LEAST_PSI) / 1000
        return self._factor_psi / (0.8 + 0.6 / math.sqrt(kpsi))

    def most_psi(self, size: float, stress_psi: float) -> float:
        """Largest plausible gain of a stroke of `size` full strokes, in psi."""
        press, hand = math.exp(_PLAUSIBLY * self.gain_sd), _PLAUSIBLY * self.scatter(size)
        return size * self.gain_psi(stress_psi) * (press + hand)

    @property
    def gain_sd(self) -> float:
        """Standard deviation of the logarithm of the gain's factor."""
        return math.sqrt(self._gain_variance)

    def scatter(self, size: float) -> float:
        """Relative standard deviation of a stroke of `size` full strokes."""
        return math.sqrt(self._variance * (0.15**2 + (0.02 / size) ** 2))

    def stroke(self, size: float, before_psi: float, after_psi: float) -> None:
        """Learn from a stroke that was cued with `size`."""
        expected = size * self.gain_psi(before_psi)
        ratio = between(SAGGED * (after_psi - before_psi) / expected, *_PLAUSIBLE)
        spread = self.scatter(size)
        known = math.hypot(spread, self.gain_sd)
        surprise = ((ratio - 1) / known) ** 2
        self._variance = between(self._variance * (1 + 0.1 * (min(surprise, 9.0) - 1)), *_SCATTERS)
        weight = max(_KEEP_LEARNING, self._gain_variance / known**2)
        log_factor = self._log_factor + math.log1p(weight * (ratio - 1))
        self._log_factor = between(log_factor, *_LOG_FACTORS)
        self._factor_psi = 1000 * math.exp(self._log_factor)
        self._gain_variance = max((1 - weight) * self._gain_variance, _LEAST_GAIN_SD**2)

    def sag(self, sag_psi_s: float, stress_psi: float) -> None:
        """Learn from a rest in which the load fell at `sag_psi_s`."""
        share = between(sag_psi_s / max(stress_psi, _LEAST_PSI), *_SAGS_PER_S)
        self.sag_per_s += 0.3 * (share - self.sag_per_s)

    def answer(self, took_s: float) -> None:
        """Learn from the time between a cue and the hand's answer."""
        if _SHORTEST_ANSWER_S <= took_s <= _LONGEST_ANSWER_S:
            self.delay_s += 0.2 * (took_s - self.delay_s)
