"""Pressure transducers: from signal to oil pressure, and from oil pressure to the ram's force.

Pressure is not force: the friction of the ram's seals lies between the two (common practice, no
source: 1 to 3 %, more at low load). The effective area is therefore measured in place, against a
force device between the platens; it does not follow from the nominal bore of the ram.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from ramphold.errors import InputError

# NAMUR NE 43, from memory: a signal below or above these is a fault, not a measurement.
_LOOP_BROKEN_MA, _LOOP_OVER_MA = 3.6, 21.0
_LOOP_ZERO_MA, _LOOP_SPAN_MA = 4.0, 16.0
# 0.5 to 4.5 V of 5 V; an open or shorted wire reads 0 or 5 V. The limits between are common
# practice, no source.
_RATIO_ZERO, _RATIO_SPAN = 0.1, 0.8
_RATIO_BROKEN, _RATIO_OVER = 0.05, 0.95


class SignalState(StrEnum):
    """Whether the signal of a transducer is a measurement."""

    LIVE = "live"
    BROKEN = "under range"
    OVER = "over range"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pressure:
    """Oil pressure in psi; NaN unless the signal is live."""

    signal: SignalState
    pressure_psi: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopTransducer:
    """A 4-20 mA transducer over a shunt.

    Attributes:
        range_psi: pressure at 20 mA; it is zero at 4 mA.
        shunt_ohm: resistance of the shunt that carries the current.

    Raises:
        InputError: a value is not finite and above zero.
    """

    range_psi: float
    shunt_ohm: float

    def __post_init__(self) -> None:
        _check("the transducer's range", self.range_psi, "psi")
        _check("the loop's shunt", self.shunt_ohm, "ohm")

    def pressure(self, signal_mv: float, supply_mv: float = math.nan) -> Pressure:
        """The pressure from the voltage across the shunt in mV; it depends on no supply.

        Below 3.6 mA the loop is broken, above 21 mA it is over range (NAMUR NE 43, from memory).
        """
        del supply_mv
        current_ma = signal_mv / self.shunt_ohm
        signal = _judge(current_ma, _LOOP_BROKEN_MA, _LOOP_OVER_MA)
        return _pressure(signal, (current_ma - _LOOP_ZERO_MA) / _LOOP_SPAN_MA * self.range_psi)


@dataclass(frozen=True, slots=True, kw_only=True)
class RatioTransducer:
    """A three-wire transducer of 0.5 to 4.5 V from a 5 V supply, ratiometric to that supply.

    Attributes:
        range_psi: pressure at 0.9 of the supply; it is zero at 0.1.

    Raises:
        InputError: the range is not finite and above zero.
    """

    range_psi: float

    def __post_init__(self) -> None:
        _check("the transducer's range", self.range_psi, "psi")

    def pressure(self, signal_mv: float, supply_mv: float) -> Pressure:
        """The pressure from signal and supply in mV, both through the same divider.

        Without a supply the signal counts as broken.
        """
        share = signal_mv / supply_mv if supply_mv > 0 else -math.inf
        signal = _judge(share, _RATIO_BROKEN, _RATIO_OVER)
        return _pressure(signal, (share - _RATIO_ZERO) / _RATIO_SPAN * self.range_psi)


Transducer = LoopTransducer | RatioTransducer


@dataclass(frozen=True, slots=True, kw_only=True)
class Ram:
    """A ram by its effective area in in2, as measured in place.

    Raises:
        InputError: the area is not finite and above zero.
    """

    area_in2: float

    def __post_init__(self) -> None:
        _check("the ram's effective area", self.area_in2, "in2")

    def force_lbf(self, pressure_psi: float) -> float:
        """Force in lbf = oil pressure in psi x effective area in in2, seal friction neglected."""
        return pressure_psi * self.area_in2


def _judge(value: float, broken: float, over: float) -> SignalState:
    if value > over:
        return SignalState.OVER
    # Written so that NaN counts as broken.
    return SignalState.LIVE if value >= broken else SignalState.BROKEN


def _pressure(signal: SignalState, pressure_psi: float) -> Pressure:
    live = signal is SignalState.LIVE
    return Pressure(signal=signal, pressure_psi=pressure_psi if live else math.nan)


def _check(what: str, value: float, unit: str) -> None:
    if not math.isfinite(value) or value <= 0:
        raise InputError(f"{what} is {value:g} {unit}: expected a finite value above zero")
