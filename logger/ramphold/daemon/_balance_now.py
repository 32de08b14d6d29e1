"""The newest line of the balance, and whether it may be kept as a mass."""

from collections.abc import Callable

from msgspec import Struct

from ramphold.clock import NS_PER_S, Clock
from ramphold.core import MassReading, MassState
from ramphold.daemon.config import BalanceConfig
from ramphold.errors import CommandRefused, InputError
from ramphold.wire import Certificate

# A smaller change is draught or the last digit; another load changes the mass by more.
_CHANGE_G = 0.01
_UNUSABLE = {
    MassState.MOVING: "is moving: wait until it is stable",
    MassState.BUSY: "is busy: wait until it is stable",
    MassState.OVERLOAD: "is in overload: take some of it off",
    MassState.UNDERLOAD: "is in underload: put its pan on",
}
_FRESH_S = {"query": 2.0, "continuous": 2.0, "print key": 60.0}


class Weighed(Struct, frozen=True, kw_only=True):
    """A mass in g with the line of the balance that carried it, and its time in ns.

    An entered mass has no line. `shown_g` is what the balance showed, where the certificate of
    that id corrected it. The fields are those of `MassTaken`.
    """

    mass_g: float
    t_ns: int
    line: bytes | None = None
    shown_g: float | None = None
    certificate: str | None = None


class BalanceNow:
    """The newest line of the balance.

    Args:
        config: the balance; None where the bench has none.
        clock: the time.
        certificate: the one in force for it now.
    """

    def __init__(
        self,
        config: BalanceConfig | None,
        clock: Clock,
        certificate: Callable[[], Certificate | None] = lambda: None,
    ) -> None:
        self._config = config
        self._clock = clock
        self._certificate = certificate
        self._newest: MassReading | None = None
        self._kept_g: float | None = None

    def take(self, reading: MassReading) -> None:
        """Take one line of the balance."""
        self._newest = reading
        off_g = abs((reading.mass_g or 0.0) - (self._kept_g or 0.0))
        lifted = reading.state is MassState.UNDERLOAD
        if lifted or (reading.mass_g is not None and off_g > _CHANGE_G):
            self._kept_g = None  # after another mass, the same one is a new weighing

    def weighed(self, mass_g: float | None, *, again: bool = False) -> Weighed:
        """The mass that a person entered, or the one on the balance.

        Args:
            mass_g: the entered mass in g; None to take the one on the balance.
            again: whether to take a mass that has not changed since one was kept.

        Raises:
            CommandRefused: the mass on the balance may not be kept; says why.
        """
        if mass_g is not None:
            return Weighed(mass_g=mass_g, t_ns=self._clock.now_ns())
        return self._stable(again=again)

    def kept(self, weighed: Weighed) -> None:
        """A mass was kept: until the balance changes, it is no new weighing."""
        if weighed.line is not None:
            self._kept_g = weighed.mass_g if weighed.shown_g is None else weighed.shown_g

    def _stable(self, *, again: bool) -> Weighed:
        if self._config is None:
            raise CommandRefused("this bench has no balance: add [balance] to its configuration")
        reading = self._newest
        if reading is None:
            raise CommandRefused("the balance has said nothing yet: check that it is on")
        if not reading.usable or reading.mass_g is None:
            said = _UNUSABLE.get(reading.state, f"says {reading.line!r}: see what is wrong with it")
            raise CommandRefused(f"the balance {said}")
        if reading.mass_g <= 0:
            raise CommandRefused(f"the balance shows {reading.mass_g:g} g: expected a mass on it")
        age_s = (self._clock.now_ns() - reading.t_ns) / NS_PER_S
        if age_s > _FRESH_S[self._config.mode]:
            raise CommandRefused(f"the newest mass is {age_s:.0f} s old: weigh again")
        if self._kept_g is not None and not again:
            empty = "print the empty balance" if self._config.mode == "print key" else "empty it"
            raise CommandRefused(
                f"{self._kept_g:g} g is kept already and the balance has not changed since: "
                f"{empty}, then weigh"
            )
        return self._corrected(reading.mass_g, reading)

    def _corrected(self, shown_g: float, reading: MassReading) -> Weighed:
        held = self._certificate()
        if held is None:
            return Weighed(mass_g=shown_g, t_ns=reading.t_ns, line=reading.line)
        try:
            mass_g = held.mass_g(shown_g)
        except InputError as error:
            raise CommandRefused(f"certificate {held.id}: {error}") from None
        return Weighed(
            mass_g=mass_g,
            t_ns=reading.t_ns,
            line=reading.line,
            shown_g=shown_g,
            certificate=held.id,
        )
