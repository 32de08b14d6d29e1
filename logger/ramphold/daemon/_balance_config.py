"""The section `[balance]` of `bench.toml`: its port, its lines, and when it sends."""

from collections.abc import Callable, Sequence

from ramphold.core import MassReading
from ramphold.daemon._sections import Section
from ramphold.daemon.serial_section import SerialSection
from ramphold.errors import ConfigError
from ramphold.instruments import BalanceMode, Instrument, InstrumentSetup, Tap, balance
from ramphold.wire import MassFrame, MassProfile, custom_mass_profile, mass_decoder, mass_profile

_CUSTOM = "custom"


class CustomConfig(Section, frozen=True):
    """The shape of a line that no profile has."""

    pattern: str
    stable: str = ""
    query: str = ""
    skip: str = ""


class BalanceConfig(SerialSection, frozen=True, kw_only=True):
    """The balance."""

    mode: BalanceMode = "query"
    custom: CustomConfig | None = None

    def __post_init__(self) -> None:
        super().__post_init__()
        self.shape()

    def shape(self) -> MassProfile:
        """As `SerialSection.shape`."""
        if self.custom is None:
            if self.profile == _CUSTOM:
                raise ConfigError("profile is 'custom': expected a section [balance.custom]")
            return mass_profile(self.profile, self.unit)
        if self.profile != _CUSTOM:
            raise ConfigError(
                f"profile is {self.profile!r} beside [balance.custom]: expected 'custom'"
            )
        return custom_mass_profile(
            pattern=self.custom.pattern,
            stable=self.custom.stable,
            unit=self.unit,
            query=self.custom.query,
            skip=self.custom.skip,
        )

    def decode(self) -> Callable[[bytes], Sequence[MassFrame]]:
        """As `SerialSection.decode`."""
        return mass_decoder(self.shape()).feed

    def make(self, setup: InstrumentSetup[MassReading], tap: Tap) -> Instrument[MassReading]:
        """The instrument, not started.

        Args:
            setup: its name, clock and callbacks.
            tap: called with all bytes that pass its port.

        Raises:
            ConfigError: the profile does not go with the mode.
        """
        return balance(setup, self.opener(tap), profile=self.shape(), mode=self.mode)
