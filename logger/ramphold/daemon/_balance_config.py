"""The section `[balance]` of `bench.toml`: where it is, how it speaks, and a shape of its own."""

from ramphold.daemon._sections import Section
from ramphold.errors import ConfigError
from ramphold.instruments import BalanceMode, PortSettings
from ramphold.wire import MassProfile, custom_mass_profile, mass_profile

__all__ = ["BalanceConfig", "CustomConfig"]

_CUSTOM = "custom"


class CustomConfig(Section, frozen=True):
    """The shape of a line, where no named one fits."""

    pattern: str
    stable: str = ""
    query: str = ""
    skip: str = ""


class BalanceConfig(Section, frozen=True):
    """The balance: the shape of its lines, and how it comes to speak."""

    port: str
    profile: str
    mode: BalanceMode = "query"
    unit: str = ""
    baud: int = 9600
    framing: str = "8N1"
    custom: CustomConfig | None = None

    def __post_init__(self) -> None:
        self.shape()

    def shape(self) -> MassProfile:
        """The shape of its lines.

        Raises:
            ConfigError: there is no such profile, or what it needs is missing or wrong.
        """
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

    @property
    def settings(self) -> PortSettings:
        """Its port."""
        return PortSettings(port=self.port, baud=self.baud, framing=self.framing)
