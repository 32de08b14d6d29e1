"""What the balance says now, and whether it may be kept as a mass."""

from ramphold.clock import NS_PER_S, Clock
from ramphold.core import MassReading
from ramphold.daemon.config import BalanceConfig
from ramphold.errors import CommandRefused

__all__ = ["BalanceNow", "Weighed"]

_FRESH_S = {"query": 2.0, "continuous": 2.0, "print key": 60.0}


class Weighed:
    """A mass to be kept, in g, with the line that carried it and its time in ns.

    Entered by a person it has no line.
    """

    def __init__(self, mass_g: float, t_ns: int, line: bytes | None = None) -> None:
        self.mass_g = mass_g
        self.t_ns = t_ns
        self.line = line


class BalanceNow:
    """The newest line of the balance."""

    def __init__(self, config: BalanceConfig | None, clock: Clock) -> None:
        self._config = config
        self._clock = clock
        self._newest: MassReading | None = None
        self._kept_g: float | None = None

    def take(self, reading: MassReading) -> None:
        """Take one line of the balance."""
        self._newest = reading
        if reading.mass_g not in (None, self._kept_g):
            self._kept_g = None  # another mass lies between: the same one again is a new weighing

    def weighed(self, mass_g: float | None) -> Weighed:
        """A mass in g that a person enters, or what stands on the balance where he enters none.

        Raises:
            CommandRefused: what stands on the balance may not be kept; says why.
        """
        if mass_g is not None:
            return Weighed(mass_g, self._clock.now_ns())
        return self._stable()

    def kept(self, weighed: Weighed) -> None:
        """Take that a mass is kept: printed again it is no new weighing."""
        if weighed.line is not None:
            self._kept_g = weighed.mass_g

    def _stable(self) -> Weighed:
        if self._config is None:
            raise CommandRefused("this bench has no balance: add [balance] to its configuration")
        reading = self._newest
        if reading is None:
            raise CommandRefused("the balance has said nothing yet: check that it is on")
        if not reading.usable or reading.mass_g is None:
            raise CommandRefused(f"the balance is {reading.state}: wait until it is stable")
        if reading.mass_g <= 0:
            raise CommandRefused(f"the balance shows {reading.mass_g:g} g: expected a mass on it")
        age_s = (self._clock.now_ns() - reading.t_ns) / NS_PER_S
        if age_s > _FRESH_S[self._config.mode]:
            raise CommandRefused(f"the newest mass is {age_s:.0f} s old: weigh again")
        if reading.mass_g == self._kept_g and self._config.mode == "print key":
            raise CommandRefused(
                f"{reading.mass_g:g} g is kept already, and printed again it is no new weighing: "
                "print the empty balance, then weigh"
            )
        return Weighed(reading.mass_g, reading.t_ns, reading.line)
