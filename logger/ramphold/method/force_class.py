"""The class of a force gauge at one force, ISO 7500-1:2018 Table 2 and ASTM E4-21.

All limits are from memory; check them against the standard.
"""

from dataclasses import dataclass

from ramphold.method.limits import over


@dataclass(frozen=True, slots=True, kw_only=True)
class ForceErrors:
    """The errors of a gauge at one force.

    Attributes:
        error_pct: mean of shown less true force, in % of the true force (q).
        repeatability_pct: greatest less smallest error of the runs (b).
        resolution_pct: its resolution in % of the force (a).
        zero_pct: its reading after unloading, in % of the full range (f0).
        reversibility_pct: falling less rising reading, in % of the force (v); None if no run was
            read on the way down.
    """

    error_pct: float
    repeatability_pct: float
    resolution_pct: float
    zero_pct: float
    reversibility_pct: float | None = None


@dataclass(frozen=True, slots=True)
class ForceLimits:
    """The greatest of each error, in either direction, that a class allows."""

    name: str
    error_pct: float
    repeatability_pct: float
    reversibility_pct: float
    zero_pct: float
    resolution_pct: float


#: The classes of ISO 7500-1, best first. The resolution sets the lowest force of a range.
CLASSES = (
    ForceLimits("0.5", 0.5, 0.5, 0.75, 0.05, 0.25),
    ForceLimits("1", 1.0, 1.0, 1.5, 0.1, 0.5),
    ForceLimits("2", 2.0, 2.0, 3.0, 0.2, 1.0),
    ForceLimits("3", 3.0, 3.0, 4.5, 0.3, 1.5),
)


def _keeps(errors: ForceErrors, limits: ForceLimits) -> bool:
    """Whether every error is within its limit."""
    pairs = (
        (errors.error_pct, limits.error_pct),
        (errors.repeatability_pct, limits.repeatability_pct),
        (errors.resolution_pct, limits.resolution_pct),
        (errors.zero_pct, limits.zero_pct),
        (errors.reversibility_pct or 0.0, limits.reversibility_pct),
    )
    return not any(over(abs(error), limit) for error, limit in pairs)


def best_class(errors: ForceErrors) -> str | None:
    """The name of the best class with all errors within its limits; None if there is none."""
    return next((limits.name for limits in CLASSES if _keeps(errors, limits)), None)
