"""The instruments of a bench, made from its configuration."""

from collections.abc import Callable
from functools import partial

from ramphold.clock import Clock
from ramphold.core import MassReading, Reading
from ramphold.daemon.config import BenchConfig, BridgeConfig, IioConfig, IndicatorConfig
from ramphold.instruments import (
    BridgeConverter,
    Conversion,
    Converter,
    CountScale,
    Health,
    IioConverter,
    Instrument,
    Port,
    PortSettings,
    Sampler,
    Tap,
    Way,
    balance,
    by_curve,
    by_pressure,
    load_indicator,
    open_port,
)

__all__ = ["BALANCE", "LOAD", "make_instruments"]

#: What health reports call the two.
LOAD, BALANCE = "load", "balance"


def make_instruments(  # noqa: PLR0913  (each is a fact of its own)
    config: BenchConfig,
    clock: Clock,
    *,
    on_load: Callable[[Reading], None],
    on_mass: Callable[[MassReading], None],
    on_health: Callable[[Health], None],
    load_scale: Callable[[], CountScale | None] = lambda: None,
    on_bytes: Callable[[str, Way, bytes], None] = lambda *_: None,
) -> list[Instrument]:
    """The bench's instruments, not started; callbacks run in their threads.

    Args:
        config: what stands there.
        clock: stamps what comes.
        on_load: takes readings of the load.
        on_mass: takes readings of the balance.
        on_health: takes the health of either.
        load_scale: the calibration in force of a load that comes in counts, asked at every
            reading, in the instrument's thread; None where there is none.
        on_bytes: takes the name of an instrument and the bytes that pass its port, each way.

    Raises:
        ConfigError: a profile or a port's settings that don't exist.
    """
    load_tap = partial(on_bytes, LOAD)
    instruments = [_load(config, clock, on_load, on_health, load_scale, load_tap)]
    if config.balance is not None:
        instruments.append(
            balance(
                BALANCE,
                _opener(config.balance.settings, partial(on_bytes, BALANCE)),
                clock=clock,
                on_reading=on_mass,
                on_health=on_health,
                profile=config.balance.shape(),
                mode=config.balance.mode,
            )
        )
    return instruments


def _load(  # noqa: PLR0913, PLR0917  (each is a fact of its own)
    config: BenchConfig,
    clock: Clock,
    on_load: Callable[[Reading], None],
    on_health: Callable[[Health], None],
    load_scale: Callable[[], CountScale | None],
    tap: Tap,
) -> Instrument:
    load = config.load
    silent_s = max(config.rules.stale_s, 10 / load.readings_per_s)
    if isinstance(load, IndicatorConfig):
        return load_indicator(
            LOAD,
            _opener(load.settings, tap),
            clock=clock,
            on_reading=on_load,
            on_health=on_health,
            profile=load.shape(),
            silent_s=silent_s,
        )
    return Sampler(
        LOAD,
        _converter_opener(load, clock),
        _to_reading(load, load_scale),
        clock=clock,
        on_reading=on_load,
        on_health=on_health,
        silent_s=silent_s,
    )


def _converter_opener(load: BridgeConfig | IioConfig, clock: Clock) -> Callable[[], Converter]:
    if isinstance(load, BridgeConfig):
        return lambda: BridgeConverter(load.pins, per_s=load.readings_per_s, clock=clock)
    return lambda: IioConverter(load.source(), per_s=load.readings_per_s, clock=clock)


def _to_reading(
    load: BridgeConfig | IioConfig, load_scale: Callable[[], CountScale | None]
) -> Callable[[Conversion], Reading]:
    if isinstance(load, IioConfig) and load.transducer is not None:
        return by_pressure(load.transducer.scale(), load.transducer.ram)
    return by_curve(load_scale)


def _opener(settings: PortSettings, tap: Tap) -> Callable[[], Port]:
    return lambda: open_port(settings, tap)
