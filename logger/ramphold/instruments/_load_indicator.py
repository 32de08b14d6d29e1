"""A load indicator on a port: continuous lines become readings of force."""

import math
from collections.abc import Callable

from ramphold.core import Reading
from ramphold.instruments._instrument import Instrument, InstrumentSetup
from ramphold.instruments._port import Port
from ramphold.instruments._reader import Reader
from ramphold.units import FORCE_UNITS
from ramphold.wire import LoadFrame, LoadProfile, load_decoder, scaled


def force_reading(t_ns: int, frame: LoadFrame) -> Reading:
    """The force of a frame in lbf by exact factors; NaN if the frame has none."""
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


def load_indicator(
    setup: InstrumentSetup[Reading],
    open_port: Callable[[], Port],
    *,
    profile: LoadProfile,
    silent_s: float = 0.5,
) -> Instrument[Reading]:
    """A load indicator that sends its lines unasked.

    Args:
        setup: its name, clock and callbacks.
        open_port: opens its port; raises PortError.
        profile: the shape of its lines.
        silent_s: time in s without a line after which it counts as silent.
    """
    return Reader(
        setup,
        open_port=open_port,
        make_decoder=lambda: load_decoder(profile),
        to_reading=force_reading,
        silent_s=silent_s,
    )
