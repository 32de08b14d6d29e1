"""How much of the lever's travel is likely used, and when a return of it costs least."""

import math

from ramphold.core._accounts import seconds
from ramphold.core._bounds import at_least, at_most
from ramphold.core._situation import Situation
from ramphold.core._states import SEATING


class LeverUse:
    """Says when the lever should go back.

    A return costs about a second of ramp wherever it falls, and most where the load has to
    arrive or to be topped up: so the lever goes back while seating, before the approach, and at
    rest. How much is used is only ever likely: the gain is not known well, and a load that gains
    nothing for a while may be a return or a rest. None of it teaches the gain.
    """

    _FULL = 0.9
    _NEARLY = 0.8
    _APPROACH = 0.35
    _SPENT_BEFORE_APPROACH = 0.3
    _SPENT_AT_REST = 0.6
    #: The cue stands so long: the hand brings the lever back whole, and pulls on by itself.
    _SHOWN_S = 0.6
    _PAUSE_S = 0.8
    #: A pause is as likely a return as not where so much is used, within about so much.
    _EVEN_ODDS, _ODDS_WIDTH = 0.6, 0.12
    # A gain smaller than this, or than so many standard deviations, may be noise.
    _GAIN_PSI, _NOISES = 5.0, 4.0

    def __init__(self) -> None:
        #: Likely share of the travel used since the last return; unknown before the ramp.
        self.used = 0.0
        self._low_psi = 0.0
        self._gained_ns = 0
        self._advised_ns: int | None = None
        self._seated = self._approached = self._paused = False
        #: How likely the pause now going on is a return.
        self._returns = 0.0

    @property
    def nearly_spent(self) -> bool:
        """Whether a return is about to be due."""
        return self._NEARLY < self.used <= self._FULL

    def follow(
        self, now: Situation, gain_psi: float, noise_psi: float, *, short_psi: float, pulling: bool
    ) -> bool:
        """Take the load of now; whether the lever should go back now.

        Args:
            now: the load, and the state of the run.
            gain_psi: likeliest gain of a full stroke here.
            noise_psi: standard deviation of the readings' noise.
            short_psi: what is left to the aim.
            pulling: whether the hand is asked to pull.
        """
        self._low_psi = at_most(self._low_psi, now.stress_psi)
        if now.stress_psi >= self._low_psi + at_least(self._GAIN_PSI, self._NOISES * noise_psi):
            self.used = at_most(self.used + (now.stress_psi - self._low_psi) / gain_psi, 2.0)
            self._low_psi, self._gained_ns, self._paused = now.stress_psi, now.t_ns, False
            self._returns = 0.0
        elif pulling and not self._paused and self._paused_s(now) >= self._PAUSE_S:
            self._paused, self._returns = True, self.likely_returned
            self.used *= 1 - self._returns
        if self._advised_ns is not None:
            if seconds(now.t_ns - self._advised_ns) < self._SHOWN_S:
                return True
            self._advised_ns = None
            self.used, self._paused, self._returns = 0.0, True, 1.0
            self._low_psi, self._gained_ns = now.stress_psi, now.t_ns
        elif self._worth_return(now, short_psi / gain_psi, pulling=pulling):
            self._advised_ns = now.t_ns
            return True
        return False

    def _paused_s(self, now: Situation) -> float:
        return seconds(now.t_ns - self._gained_ns)

    @property
    def likely_returned(self) -> float:
        """How likely a pause now is a return of the lever."""
        odds = math.exp((self._EVEN_ODDS - self.used) / self._ODDS_WIDTH)
        return at_least(1 / (1 + odds), self._returns)

    def _worth_return(self, now: Situation, short: float, *, pulling: bool) -> bool:
        if now.state is SEATING:
            worth = not self._seated
            self._seated = True
            return worth
        if not pulling:
            return self.used > self._SPENT_AT_REST and now.speed_psi_s <= 0
        if short < self._APPROACH and not self._approached:
            self._approached = True
            return self.used > self._SPENT_BEFORE_APPROACH
        return self.used > self._FULL
