"""The instruments of a bench, made from its configuration."""

from collections.abc import Callable

from ramphold.clock import Clock
from ramphold.core import MassReading, Reading
from ramphold.daemon.config import BalanceConfig, BenchConfig, LoadConfig
from ramphold.instruments import (
    Health,
    Instrument,
    Port,
    PortSettings,
    balance,
    load_indicator,
    open_port,
)

__all__ = ["BALANCE", "LOAD", "make_instruments"]

#: What health reports call the two.
LOAD, BALANCE = "load", "balance"


def make_instruments(
    config: BenchConfig,
    clock: Clock,
    *,
    on_load: Callable[[Reading], None],
    on_mass: Callable[[MassReading], None],
    on_health: Callable[[Health], None],
) -> list[Instrument]:
    """The bench's instruments, not started; callbacks run in their threads.

    Raises:
        ConfigError: a profile or a port's settings that don't exist.
    """
    instruments = [
        load_indicator(
            LOAD,
            _opener(config.load),
            clock=clock,
            on_reading=on_load,
            on_health=on_health,
            profile=config.load.profile,
            silent_s=max(config.rules.stale_s, 10 / config.load.readings_per_s),
        )
    ]
    if config.balance is not None:
        instruments.append(
            balance(
                BALANCE,
                _opener(config.balance),
                clock=clock,
                on_reading=on_mass,
                on_health=on_health,
                profile=config.balance.profile,
                mode=config.balance.mode,
            )
        )
    return instruments


def _opener(config: LoadConfig | BalanceConfig) -> Callable[[], Port]:
    settings = PortSettings(port=config.port, baud=config.baud, framing=config.framing)
    return lambda: open_port(settings)
