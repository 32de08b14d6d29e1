"""A load indicator on a port: continuous lines become readings of force."""

import math
from collections.abc import Callable

from ramphold.clock import Clock
from ramphold.core import Reading
from ramphold.instruments._instrument import Health, Instrument
from ramphold.instruments._port import Port
from ramphold.instruments._reader import Reader
from ramphold.units import FORCE_UNITS
from ramphold.wire import LoadFrame, LoadProfile, load_decoder, load_profile, scaled

__all__ = ["force_reading", "load_indicator"]


def force_reading(t_ns: int, frame: LoadFrame) -> Reading:
    """The force in lbf that a frame carries, NaN where it carries none, by exact factors."""
    force_lbf = math.nan
    if frame.numbered:
        force_lbf = scaled(frame.raw, frame.exponent, FORCE_UNITS[frame.unit])
    return Reading(
        t_ns=t_ns,
        force_lbf=force_lbf,
        quality=frame.quality,
        raw=frame.raw,
        exponent=frame.exponent,
        unit=frame.unit,
        line=frame.line,
    )


def load_indicator(  # noqa: PLR0913  (each is a fact of its own)
    name: str,
    open_port: Callable[[], Port],
    *,
    clock: Clock,
    on_reading: Callable[[Reading], None],
    on_health: Callable[[Health], None],
    profile: LoadProfile | None = None,
    silent_s: float = 0.5,
) -> Instrument:
    """A load indicator that sends lines by itself.

    Args:
        name: what the configuration calls it.
        open_port: opens its port; raises PortError.
        clock: stamps its readings.
        on_reading: takes each reading of force, in the instrument's thread.
        on_health: takes its health when it changes, in the instrument's thread.
        profile: the shape of its lines; `state-comma` by default.
        silent_s: time in s without a line after which it counts as silent.
    """
    shape = profile or load_profile("state-comma")
    return Reader(
        name,
        open_port=open_port,
        make_decoder=lambda: load_decoder(shape),
        clock=clock,
        on_frame=lambda t_ns, frame: on_reading(force_reading(t_ns, frame)),
        on_health=on_health,
        silent_s=silent_s,
    )
