"""A section of `bench.toml` for an instrument that sends lines on a serial port."""

from abc import abstractmethod
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

from ramphold.instruments import Port, PortSettings, SerialPort, Tap
from ramphold.wire import LoadFrame, MassFrame, Profile


class SerialSection(PortSettings, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The port of an instrument, and the shape of its lines.

    Attributes:
        profile: name of the shape.
        unit: unit of values without one; empty if they have their own.
    """

    profile: str
    unit: str = ""

    def opener(self, tap: Tap) -> Callable[[], Port]:
        """Opens its port; all bytes that pass it are given to `tap`."""
        return partial(SerialPort, self, tap)

    @abstractmethod
    def shape(self) -> Profile[Any]:
        """The shape of its lines.

        Raises:
            ConfigError: there is no such profile, or a key that it needs is missing or wrong.
        """

    @abstractmethod
    def decode(self) -> Callable[[bytes], Sequence[LoadFrame | MassFrame]]:
        """A new decoder of its bytes."""
