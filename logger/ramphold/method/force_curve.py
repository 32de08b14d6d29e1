"""The curve of a certificate: what a gauge reads at a force, and the force behind a reading."""

import math
from dataclasses import dataclass

from ramphold.errors import InputError

__all__ = ["CalibrationCurve", "behind"]


def behind(reading: float, c0: float, c1: float, c2: float) -> float:
    """The x behind a reading of c0 + c1 x + c2 x2, on the branch that x = 0 is on.

    Raises:
        InputError: no x gives such a reading, being past where the curve turns.
    """
    rise = reading - c0
    square = c1 * c1 + 4 * c2 * rise
    if square < 0:
        turn = c0 - c1 * c1 / (4 * c2)
        raise InputError(
            f"a reading of {reading:g} is past where the calibration curve turns: "
            f"expected one up to {turn:g}"
        )
    # This form of the root loses no figures where c2 is small, or none at all.
    return 2 * rise / (c1 + math.copysign(math.sqrt(square), c1))


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationCurve:
    """Reading = c0 + c1 F + c2 F2, for a force F in lbf and a reading less its zero.

    Attributes:
        c0, c1, c2: the coefficients, in the gauge's own unit; c2 is 0 for a straight line.
        low_lbf, high_lbf: the calibrated range of force.

    Raises:
        InputError: a value is not finite, the range is empty, or the curve turns in it.
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
        """How much the reading changes per lbf at a force."""
        return self.c1 + 2 * self.c2 * force_lbf

    def reading(self, force_lbf: float) -> float:
        """The reading, less its zero, that a force gives."""
        return self.c0 + (self.c1 + self.c2 * force_lbf) * force_lbf

    def force_lbf(self, reading: float) -> float:
        """The force in lbf behind a reading, less its zero; beyond the range too.

        Raises:
            InputError: no force gives such a reading, being past where the curve turns.
        """
        return behind(reading, self.c0, self.c1, self.c2)
