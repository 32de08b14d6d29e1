"""Limits of the standards, and how a measured value is compared with one.

The figures of an edition are in its file, see `editions`.
"""

from typing import Annotated

from msgspec import Meta, Struct

Percent = Annotated[float, Meta(ge=0, le=100)]
#: Greatest fines in % of the charge. Neither none nor all of it can be compared in log-odds.
FinesLimit = Annotated[float, Meta(gt=0, lt=100)]
#: Where a figure is from; no figure is without.
Source = Annotated[str, Meta(min_length=1, max_length=300)]

#: Greatest mean fines, in % of the charge, at which a stress still counts for the crush class;
#: from memory, ISO 13503-2:2006 11.5.
FINES_PCT = 10.0
#: Fewest specimens whose mean counts for a stress.
REPLICATES = 3
#: Ours: most that a blank may lose into the pan, in % of its charge. It is what the standard lets
#: a sieving lose.
MOST_BLANK_PCT = 0.5

# Far below the resolution of any balance, far above the rounding of floats in a mean.
_ROUNDING = 1e-9


class SievingLimits(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits of a sieve analysis, in % of the recovered sum.

    Attributes:
        in_size_pct: least share between the two sieves that name the size.
        coarse_pct: greatest share that stays on the coarsest sieve of the stack.
        fine_pct: greatest share that passes its finest sieve.
        loss_pct: greatest difference between recovered sum and charge, in % of the charge; above
            it the sieving is void.
        source: where the figures are from.
    """

    in_size_pct: Percent
    coarse_pct: Percent
    fine_pct: Percent
    loss_pct: Percent
    source: Source


class CrushLimit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A suggested test stress in psi, and the greatest fines at it in % of the charge."""

    stress_psi: Annotated[float, Meta(gt=0, le=20_000)]
    fines_pct: FinesLimit
    source: Source


class ResultLimit(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A limit of a test before the crush.

    Attributes:
        of: the test, such as `acid solubility` or `roundness`.
        material, size: those that it holds for; every one where none is named.
        least, most: the limit, in the unit of the test; a value at it passes. One of the two.
        source: where the figure is from.
    """

    of: str
    material: tuple[str, ...] = ()
    size: tuple[str, ...] = ()
    least: Annotated[float, Meta(ge=0, le=100_000)] | None = None
    most: Annotated[float, Meta(ge=0, le=100_000)] | None = None
    source: Source

    def __post_init__(self) -> None:
        """Check that it is a limit: msgspec tells an error with its key."""
        if (self.least is None) == (self.most is None):
            raise ValueError(f"of {self.of!r}: expected either `least` or `most`")

    def holds_for(self, of: str, material: str, size: str) -> bool:
        """Whether it is the limit of a test for a material and a size."""
        return (
            self.of == of
            and (not self.material or material in self.material)
            and (not self.size or size in self.size)
        )

    def passes(self, value: float) -> bool:
        """Whether an unrounded value is within it."""
        if self.least is not None:
            return not under(value, self.least)
        return not over(value, self.limit)

    @property
    def limit(self) -> float:
        """The number."""
        return (self.most if self.least is None else self.least) or 0.0

    @property
    def upper(self) -> bool:
        """Whether it is a greatest value."""
        return self.least is None

    def __str__(self) -> str:
        return limit_words(self.limit, upper=self.upper)


def limit_words(limit: float, unit: str = "", *, upper: bool) -> str:
    """A limit as it is printed: `250 NTU or less`, `0.6 or more`."""
    return f"{limit:g} {unit}".rstrip() + (" or less" if upper else " or more")


def over(value: float, limit: float) -> bool:
    """Whether an unrounded value is above its limit; a value at the limit is not.

    A mean of 9.9, 10.0 and 10.1 is at a limit of 10, whatever the rounding of floats.
    """
    return value > limit + _ROUNDING


def under(value: float, limit: float) -> bool:
    """Whether an unrounded value is below its limit; a value at the limit is not."""
    return value < limit - _ROUNDING
