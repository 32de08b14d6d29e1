"""The section `[load]` of `bench.toml`, by its kind: what measures the load, and where it is."""

import math
from pathlib import Path
from typing import Literal

from ramphold.daemon._sections import In2, Lbf, Psi, Section
from ramphold.errors import ConfigError
from ramphold.instruments import IIO_DEVICES, BridgePins, IioChannel, PortSettings
from ramphold.method.transducer import LoopTransducer, Ram, RatioTransducer
from ramphold.wire import LoadProfile, load_profile

__all__ = ["BridgeConfig", "IioConfig", "IndicatorConfig", "LoadConfig", "TransducerConfig"]

_PINS = range(28)


class _Load(Section, frozen=True, tag_field="kind"):
    capacity: Lbf

    def _check_rate(self, readings_per_s: float) -> None:
        if not math.isfinite(readings_per_s) or readings_per_s <= 0:
            raise ConfigError(
                f"readings_per_s is {readings_per_s}: expected a finite number above zero"
            )


class IndicatorConfig(_Load, frozen=True, tag="indicator"):
    """A serial load indicator, and the capacity of its sensor."""

    port: str
    profile: str = "state-comma"
    unit: str = ""
    baud: int = 9600
    framing: str = "8N1"
    readings_per_s: float = 10.0

    def __post_init__(self) -> None:
        self._check_rate(self.readings_per_s)
        self.shape()

    def shape(self) -> LoadProfile:
        """The shape of its lines.

        Raises:
            ConfigError: there is no such profile, or it needs a unit.
        """
        return load_profile(self.profile, self.unit)

    @property
    def settings(self) -> PortSettings:
        """Its port."""
        return PortSettings(port=self.port, baud=self.baud, framing=self.framing)

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return self.port


class BridgeConfig(_Load, frozen=True, tag="bridge"):
    """A load cell on a 24-bit bridge converter at two pins of the GPIO."""

    data_pin: int = 5
    clock_pin: int = 13
    gain: Literal[128, 64, 32] = 128
    readings_per_s: float = 80.0

    def __post_init__(self) -> None:
        self._check_rate(self.readings_per_s)
        for name, pin in (("data_pin", self.data_pin), ("clock_pin", self.clock_pin)):
            if pin not in _PINS:
                raise ConfigError(f"{name} is {pin}: expected a GPIO from 0 to {_PINS[-1]}")
        if self.data_pin == self.clock_pin:
            raise ConfigError(f"data_pin and clock_pin are both {self.data_pin}: expected two")

    @property
    def pins(self) -> BridgePins:
        """Where it is wired."""
        return BridgePins(data_pin=self.data_pin, clock_pin=self.clock_pin, gain=self.gain)

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return self.pins.place


class _Transducer(Section, frozen=True, tag_field="kind"):
    range: Psi
    ram_area: In2

    @property
    def ram(self) -> Ram:
        """The ram that its pressure moves."""
        return Ram(area_in2=self.ram_area)


class LoopConfig(_Transducer, frozen=True, tag="loop"):
    """A 4-20 mA pressure transducer over a shunt."""

    shunt_ohm: float = 100.0

    def __post_init__(self) -> None:
        self.scale()

    def scale(self) -> LoopTransducer:
        """What makes its signal into a pressure."""
        return LoopTransducer(range_psi=self.range, shunt_ohm=self.shunt_ohm)


class RatioConfig(_Transducer, frozen=True, tag="ratio"):
    """A pressure transducer of 0.5 to 4.5 V that follows its supply, which is measured too."""

    supply: str = "voltage1"

    def scale(self) -> RatioTransducer:
        """What makes its signal into a pressure."""
        return RatioTransducer(range_psi=self.range)


TransducerConfig = LoopConfig | RatioConfig


class IioConfig(_Load, frozen=True, tag="iio"):
    """A load cell or a pressure transducer through the kernel's industrial I/O files."""

    device: str = "hx711"
    channel: str = "voltage0"
    gain: Literal[128, 64, 32] = 128
    readings_per_s: float = 80.0
    transducer: TransducerConfig | None = None
    devices: str = str(IIO_DEVICES)

    def __post_init__(self) -> None:
        self._check_rate(self.readings_per_s)
        self.source()

    def source(self) -> IioChannel:
        """The channel that it is read from.

        Raises:
            ConfigError: it has not that gain.
        """
        return IioChannel(
            device=self.device,
            channel=self.channel,
            supply=self.transducer.supply if isinstance(self.transducer, RatioConfig) else None,
            gain=self.gain,
            devices=Path(self.devices),
        )

    @property
    def place(self) -> str:
        """Where it is, for a person."""
        return self.source().place


LoadConfig = IndicatorConfig | BridgeConfig | IioConfig
