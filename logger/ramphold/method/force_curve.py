"""The curve of a certificate: the reading at a force, and the force at a reading."""

import math
from dataclasses import dataclass

from ramphold.errors import InputError


def behind(reading: float, c0: float, c1: float, c2: float) -> float:
    """The x at which c0 + c1 x + c2 x2 equals a reading, on the branch of x = 0.

    Raises:
        InputError: the reading lies beyond the turning point of the curve.
    """
    rise = reading - c0
    square = c1 * c1 + 4 * c2 * rise
    if square < 0:
        turn = c0 - c1 * c1 / (4 * c2)
        raise InputError(
            f"a reading of {reading:g} is beyond the turning point of the calibration curve: "
            f"expected one up to {turn:g}"
        )
    # This form of the root loses no digits if c2 is small or zero.
    return 2 * rise / (c1 + math.copysign(math.sqrt(square), c1))


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationCurve:
    """Reading less zero = c0 + c1 F + c2 F2, for a force F in lbf.

    Attributes:
        c0, c1, c2: the coefficients, in the gauge's own unit; c2 is 0 for a straight line.
        low_lbf, high_lbf: the calibrated range of force.

    Raises:
        InputError: a value is not finite, the range is empty, or the curve turns within it.
    """

    c0: float
    c1: float
    c2: float = 0.0
    low_lbf: float
    high_lbf: float

    def __post_init__(self) -> None:
        held = (self.c0, self.c1, self.c2, self.low_lbf, self.high_lbf)
        if not all(map(math.isfinite, held)) or not 0 <= self.low_lbf < self.high_lbf:
            raise InputError(
                f"a calibration curve over {self.low_lbf:g} to {self.high_lbf:g} lbf: "
                "expected finite coefficients over a rising range"
            )
        if self.slope(0.0) * self.slope(self.high_lbf) <= 0:
            raise InputError(
                f"the calibration curve turns under {self.high_lbf:g} lbf: "
                "expected one that only rises, or only falls"
            )

    def slope(self, force_lbf: float) -> float:
        """The change of the reading per lbf at a force."""
        return self.c1 + 2 * self.c2 * force_lbf

    def reading(self, force_lbf: float) -> float:
        """The reading less its zero at a force."""
        return self.c0 + (self.c1 + self.c2 * force_lbf) * force_lbf

    def force_lbf(self, reading: float) -> float:
        """The force in lbf at a reading less its zero, also outside the range.

        Raises:
            InputError: the reading lies beyond the turning point of the curve.
        """
        return behind(reading, self.c0, self.c1, self.c2)
