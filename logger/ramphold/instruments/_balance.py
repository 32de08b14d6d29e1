"""A balance on a port: asked at an interval, or listened to as it prints or streams."""

from collections.abc import Callable
from typing import Literal

from ramphold.clock import Clock
from ramphold.core import MassReading
from ramphold.errors import ConfigError
from ramphold.instruments._instrument import Health, Instrument
from ramphold.instruments._port import Port
from ramphold.instruments._reader import Reader
from ramphold.wire import MassFrame, MassProfile, mass_decoder

__all__ = ["BalanceMode", "balance", "mass_reading"]

#: How a balance comes to speak.
BalanceMode = Literal["query", "print key", "continuous"]

# A balance that settles may take its time to answer.
_LEAST_SILENT_S = 2.0
_SILENT_QUERIES = 4


def mass_reading(t_ns: int, frame: MassFrame) -> MassReading:
    """The mass in g that a frame carries, with the line that carried it."""
    return MassReading(t_ns=t_ns, mass_g=frame.mass_g, state=frame.state, line=frame.line)


def balance(  # noqa: PLR0913  (each is a fact of its own)
    name: str,
    open_port: Callable[[], Port],
    *,
    clock: Clock,
    on_reading: Callable[[MassReading], None],
    on_health: Callable[[Health], None],
    profile: MassProfile,
    mode: BalanceMode = "query",
    every_s: float = 0.5,
) -> Instrument:
    """A balance: asked again and again, speaking by its key, or sending by itself.

    Args:
        name: what the configuration calls it.
        open_port: opens its port; raises PortError.
        clock: stamps its readings, and tells when to ask.
        on_reading: takes each reading of mass, in the instrument's thread.
        on_health: takes its health when it changes, in the instrument's thread.
        profile: the shape of its lines.
        mode: how it comes to speak. One with a print key can't be told to be silent.
        every_s: time in s between two queries.

    Raises:
        ConfigError: the profile has no query, or says nothing of rest and is not printed by key.
    """
    keyed = mode == "print key"
    if not (keyed or profile.tells_rest):
        raise ConfigError(
            f"{name}: a line of profile {profile.name!r} does not say whether it is stable: "
            "expected mode 'print key', and a balance set to print stable values only"
        )
    query = profile.query if mode == "query" else None
    if mode == "query" and query is None:
        raise ConfigError(
            f"{name}: a balance of profile {profile.name!r} can't be asked: "
            "expected mode 'print key' or 'continuous'"
        )
    return Reader(
        name,
        open_port=open_port,
        make_decoder=lambda: mass_decoder(profile, doubt_first=not keyed),
        clock=clock,
        on_frame=lambda t_ns, frame: on_reading(mass_reading(t_ns, frame)),
        on_health=on_health,
        silent_s=None if keyed else max(_LEAST_SILENT_S, _SILENT_QUERIES * every_s),
        query=query,
        query_every_s=every_s,
    )
