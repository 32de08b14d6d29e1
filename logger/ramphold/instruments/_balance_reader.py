"""A balance on a port: asked at an interval, or read as it prints or sends."""

from collections.abc import Callable
from typing import Literal

from ramphold.core import MassReading
from ramphold.errors import ConfigError
from ramphold.instruments._instrument import Instrument, InstrumentSetup
from ramphold.instruments._port import Port
from ramphold.instruments._reader import Reader
from ramphold.wire import MassFrame, MassProfile, mass_decoder

#: When a balance sends: when asked, at its print key, or all the time.
BalanceMode = Literal["query", "print key", "continuous"]

# A settling balance may take its time to answer.
_LEAST_SILENT_S = 2.0
_SILENT_QUERIES = 4


def mass_reading(t_ns: int, frame: MassFrame) -> MassReading:
    """The mass of a frame in g, with its line."""
    return MassReading(t_ns=t_ns, mass_g=frame.mass_g, state=frame.state, line=frame.line)


def balance(
    setup: InstrumentSetup[MassReading],
    open_port: Callable[[], Port],
    *,
    profile: MassProfile,
    mode: BalanceMode = "query",
    every_s: float = 0.5,
) -> Instrument[MassReading]:
    """A balance: asked again and again, printing at its key, or sending unasked.

    Args:
        setup: its name, clock and callbacks.
        open_port: opens its port; raises PortError.
        profile: the shape of its lines.
        mode: when it sends. With a print key, no silence is too long.
        every_s: time in s between two queries.

    Raises:
        ConfigError: the profile does not go with the mode.
    """
    _check(setup.name, profile, mode)
    keyed = mode == "print key"
    return Reader(
        setup,
        open_port=open_port,
        make_decoder=lambda: mass_decoder(profile, doubt_first=not keyed),
        to_reading=mass_reading,
        silent_s=None if keyed else max(_LEAST_SILENT_S, _SILENT_QUERIES * every_s),
        query=profile.query if mode == "query" else None,
        query_every_s=every_s,
    )


def _check(name: str, profile: MassProfile, mode: BalanceMode) -> None:
    if mode != "print key" and not profile.tells_rest:
        raise ConfigError(
            f"{name}: a line of profile {profile.name!r} does not say whether it is stable: "
            "expected mode 'print key', and a balance set to print stable values only"
        )
    if mode == "query" and profile.query is None:
        raise ConfigError(
            f"{name}: a balance of profile {profile.name!r} can't be asked: "
            "expected mode 'print key' or 'continuous'"
        )
