"""Wear of crush cell and sieves: when either is due for a check or a change.

The limits are ours, and settings: no edition of the standard known here gives any.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.limits import over

__all__ = ["CellLimits", "SieveLimits", "Wear", "cell_wear", "sieve_wear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CellLimits:
    """What a cell is changed at: % that its stress is off for its nominal bore, and crushes."""

    stress_pct: float = 0.5
    crushes: int = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class SieveLimits:
    """What a sieve is checked after: sievings, and days."""

    sievings: int = 300
    days: int = 180


@dataclass(frozen=True, slots=True, kw_only=True)
class Wear:
    """How far something is worn.

    Attributes:
        used_pct: of the limit that is nearest to being reached, how much is used up.
        due: each limit that is reached; empty while all is well.
    """

    used_pct: float
    due: tuple[str, ...]


def cell_wear(
    bore_in: float, nominal_in: float, crushes: int, limits: CellLimits | None = None
) -> Wear:
    """Wear of a cell by its bore as last measured, in inches, and its crushes since new.

    A bore wider by a share lowers the stress of a force by about twice that share.

    Raises:
        InputError: a bore that is not above zero, or a count below zero.
    """
    limits = limits or CellLimits()
    if not (math.isfinite(bore_in) and math.isfinite(nominal_in)) or min(bore_in, nominal_in) <= 0:
        raise InputError(f"a bore of {bore_in:g} in, new {nominal_in:g}: expected both above zero")
    _count(crushes, "crushes")
    off_pct = 100 * abs((nominal_in / bore_in) ** 2 - 1)
    return _wear(
        (off_pct, limits.stress_pct, f"the bore puts the stress {off_pct:.2f} % off"),
        (crushes, limits.crushes, f"{crushes} crushes"),
    )


def sieve_wear(sievings: int, days: int, limits: SieveLimits | None = None) -> Wear:
    """Wear of a sieve by its sievings, and the days, since its openings were last checked.

    Raises:
        InputError: a count below zero.
    """
    limits = limits or SieveLimits()
    _count(sievings, "sievings")
    _count(days, "days")
    return _wear(
        (sievings, limits.sievings, f"{sievings} sievings since the last check"),
        (days, limits.days, f"{days} days since the last check"),
    )


def _wear(*counts: tuple[float, float, str]) -> Wear:
    return Wear(
        used_pct=max(100 * used / limit for used, limit, _ in counts),
        due=tuple(_due(counts)),
    )


def _due(counts: tuple[tuple[float, float, str], ...]) -> Iterator[str]:
    for used, limit, said in counts:
        if over(used, limit):
            yield f"{said}: expected {limit:g} or less"


def _count(count: int, what: str) -> None:
    if count < 0:
        raise InputError(f"{count} {what}: expected 0 or more")
