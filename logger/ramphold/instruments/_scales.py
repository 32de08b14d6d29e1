"""From a converter's count to a force: by a certificate's curve, or by a ram."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from ramphold.core import Quality, Reading
from ramphold.errors import InputError
from ramphold.instruments._converter import Conversion
from ramphold.method.force_curve import CalibrationCurve
from ramphold.method.transducer import Ram, SignalState, Transducer

_NO_MEASUREMENT = {SignalState.BROKEN: Quality.UNDER_RANGE, SignalState.OVER: Quality.OVER_RANGE}


@dataclass(frozen=True, slots=True, kw_only=True)
class CountScale:
    """The calibration of a force sensor.

    Attributes:
        curve: its certificate's, in counts over lbf.
        zero: count without a load, from which the curve counts.
    """

    curve: CalibrationCurve
    zero: float = 0.0


def by_curve(scale: Callable[[], CountScale | None]) -> Callable[[Conversion], Reading]:
    """Convert by a calibration.

    Args:
        scale: gives the calibration in force at each conversion; None: there is no force.
    """

    def reading(conversion: Conversion) -> Reading:
        if conversion.quality is not Quality.GOOD:
            return _reading(conversion, conversion.quality)
        found = scale()
        if found is None:
            return _reading(conversion, Quality.UNCALIBRATED)
        try:
            force_lbf = found.curve.force_lbf(conversion.count - found.zero)
        except InputError:  # beyond where the curve turns
            return _reading(conversion, Quality.OVER_RANGE)
        return _reading(conversion, Quality.GOOD, force_lbf)

    return reading


def by_pressure(transducer: Transducer, ram: Ram) -> Callable[[Conversion], Reading]:
    """Convert by a pressure transducer and the ram's effective area."""

    def reading(conversion: Conversion) -> Reading:
        if conversion.quality is not Quality.GOOD:
            return _reading(conversion, conversion.quality)
        found = transducer.pressure(conversion.mv, conversion.supply_mv)
        if found.signal in _NO_MEASUREMENT:
            return _reading(conversion, _NO_MEASUREMENT[found.signal])
        return _reading(conversion, Quality.GOOD, ram.force_lbf(found.pressure_psi))

    return reading


def _reading(conversion: Conversion, quality: Quality, force_lbf: float = math.nan) -> Reading:
    return Reading(
        t_ns=conversion.t_ns,
        force_lbf=force_lbf,
        quality=quality,
        raw=conversion.count,
        unit="count",
    )
