"""A balance on a port: asked at an interval, or listened to until its print key is pressed."""

from collections.abc import Callable
from typing import Literal

from ramphold.clock import Clock
from ramphold.core import MassReading
from ramphold.errors import ConfigError
from ramphold.instruments._instrument import Health, Instrument
from ramphold.instruments._port import Port
from ramphold.instruments._reader import Reader
from ramphold.wire import MASS_PROFILES, MassFrame, mass_decoder

__all__ = ["balance", "mass_reading"]

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
    profile: str,
    mode: Literal["query", "print key"] = "query",
    every_s: float = 0.5,
) -> Instrument:
    """A balance, asked again and again (`query`), or one that speaks by its key (`print key`).

    Args:
        name: what the configuration calls it.
        open_port: opens its port; raises PortError.
        clock: stamps its readings, and tells when to ask.
        on_reading: takes each reading of mass, in the instrument's thread.
        on_health: takes its health when it changes, in the instrument's thread.
        profile: name in `wire.MASS_PROFILES` of the shape of its lines.
        mode: whether it is asked. One that is not can't be told to be silent.
        every_s: time in s between two queries.

    Raises:
        ConfigError: there is no such profile, or it has no query.
    """
    mass_decoder(profile)  # an unknown profile is refused here, not in the thread
    query = MASS_PROFILES[profile].query if mode == "query" else None
    if mode == "query" and query is None:
        raise ConfigError(
            f"{name}: a balance of profile {profile!r} can't be asked: expected mode 'print key'"
        )
    silent_s = max(_LEAST_SILENT_S, _SILENT_QUERIES * every_s) if query else None
    return Reader(
        name,
        open_port=open_port,
        make_decoder=lambda: mass_decoder(profile),
        clock=clock,
        on_frame=lambda t_ns, frame: on_reading(mass_reading(t_ns, frame)),
        on_health=on_health,
        silent_s=silent_s,
        query=query,
        query_every_s=every_s,
    )
