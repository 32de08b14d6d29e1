"""The load of one run over time, as a figure needs it."""

from array import array
from dataclasses import dataclass, field

__all__ = ["Trace"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """Every reading of a run in order.

    Attributes:
        run: the run's number.
        t_s: time since the run's start in s.
        stress_psi: stress in psi, unfiltered; NaN where a reading carries no number.
    """

    run: int
    t_s: "array[float]" = field(default_factory=lambda: array("d"))
    stress_psi: "array[float]" = field(default_factory=lambda: array("d"))
