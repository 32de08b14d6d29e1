"""What stands between a converter's count and a force: a certificate's curve, or a ram."""

import math
from collections.abc import Callable
from dataclasses import dataclass

from ramphold.core import Quality, Reading
from ramphold.errors import InputError
from ramphold.instruments._converter import Conversion
from ramphold.method.force_curve import CalibrationCurve
from ramphold.method.transducer import LoopTransducer, Ram, RatioTransducer, SignalState

__all__ = ["CountScale", "by_curve", "by_pressure"]

_NO_MEASUREMENT = {SignalState.BROKEN: Quality.UNDER_RANGE, SignalState.OVER: Quality.OVER_RANGE}


@dataclass(frozen=True, slots=True, kw_only=True)
class CountScale:
    """A gauge as it is calibrated.

    Attributes:
        curve: of its certificate, in counts over lbf.
        zero: count without a load, from which the curve counts.
    """

    curve: CalibrationCurve
    zero: float = 0.0


def by_curve(scale: Callable[[], CountScale | None]) -> Callable[[Conversion], Reading]:
    """Makes conversions into forces by a calibration.

    Args:
        scale: the calibration in force, asked at every conversion; without one there is no force.
    """

    def reading(conversion: Conversion) -> Reading:
        if conversion.quality is not Quality.GOOD:
            return _without_force(conversion, conversion.quality)
        found = scale()
        if found is None:
            return _without_force(conversion, Quality.UNCALIBRATED)
        try:
            force_lbf = found.curve.force_lbf(conversion.count - found.zero)
        except InputError:  # past where the curve turns
            return _without_force(conversion, Quality.OVER_RANGE)
        return _with_force(conversion, force_lbf)

    return reading


def by_pressure(
    transducer: LoopTransducer | RatioTransducer, ram: Ram
) -> Callable[[Conversion], Reading]:
    """Makes conversions into forces by a pressure transducer and the ram's effective area."""

    def reading(conversion: Conversion) -> Reading:
        if conversion.quality is not Quality.GOOD:
            return _without_force(conversion, conversion.quality)
        if isinstance(transducer, LoopTransducer):
            found = transducer.pressure(conversion.mv)
        else:
            found = transducer.pressure(conversion.mv, conversion.supply_mv)
        if found.signal in _NO_MEASUREMENT:
            return _without_force(conversion, _NO_MEASUREMENT[found.signal])
        return _with_force(conversion, ram.force_lbf(found.pressure_psi))

    return reading


def _with_force(conversion: Conversion, force_lbf: float) -> Reading:
    return Reading(t_ns=conversion.t_ns, force_lbf=force_lbf, raw=conversion.count, unit="count")


def _without_force(conversion: Conversion, quality: Quality) -> Reading:
    return Reading(
        t_ns=conversion.t_ns,
        force_lbf=math.nan,
        quality=quality,
        raw=conversion.count,
        unit="count",
    )
