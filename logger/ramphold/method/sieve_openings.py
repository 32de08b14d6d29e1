"""Openings of sieves as they are, and what a pair of sieves does to the fines.

The charge is cut on one sieve and sieved on another of the same number after the crush. If the
second is wider, whole grains pass it and are weighed as fines: their share is the grading at the
opening times the difference of the two. A blank, a charge that is sieved without a crush, shows it.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.limits import MOST_BLANK_PCT, over
from ramphold.method.sieves import Size, opening_mm
from ramphold.method.uncertainty import Component, bounded, one_sided
from ramphold.method.whole_grains import PASSING_SHARE, amounts_by_openings

#: How far the mean opening of a new sieve may be off its nominal one, in um: ASTM E11 Table 1.
_TOLERANCES_UM = {
    4: 150, 5: 127, 6: 107, 7: 90, 8: 76, 10: 65, 12: 56, 14: 46, 16: 40, 18: 34, 20: 29.1,
    25: 24.7, 30: 21.2, 35: 18.0, 40: 15.5, 45: 13.3, 50: 11.5, 60: 9.9, 70: 8.7, 80: 7.6,
    100: 6.6, 120: 5.8, 140: 5.2, 170: 4.6, 200: 4.1, 230: 3.7, 270: 3.4, 325: 3.1,
}  # fmt: skip

# Ours: a measured opening whose uncertainty nobody stated is good to this share of the tolerance.
_MEASURED_SHARE = 0.2
# Ours: a mean opening farther off than this many tolerances is that of another sieve, or a typing
# error. Neighbours in the series are farther apart.
_MOST_TOLERANCES = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening:
    """The mean opening of a sieve, as far as it is known.

    Attributes:
        serial: of the sieve; empty where nobody recorded which one was used.
        nominal_mm: the opening of its number, in mm.
        mean_mm: measured mean opening in mm; the nominal one where it was not measured.
        half_width_mm: how far the true mean opening may be from `mean_mm`, in mm.
        measured: whether it was measured; otherwise `half_width_mm` is what ASTM E11 allows.
    """

    serial: str
    nominal_mm: float
    mean_mm: float
    half_width_mm: float
    measured: bool

    @property
    def known_by(self) -> str:
        """Where the half-width comes from, in words."""
        return "measured" if self.measured else "as ASTM E11 allows"


def tolerance_mm(sieve: int) -> float:
    """How far ASTM E11 lets the mean opening of a sieve be off its nominal one, in mm.

    Raises:
        InputError: there is no sieve of that number.
    """
    try:
        return _TOLERANCES_UM[sieve] / 1000
    except KeyError:
        raise InputError(f"there is no sieve No. {sieve}: expected a US number") from None


def known_opening(
    sieve: int, serial: str = "", measured_mm: float | None = None, u_mm: float | None = None
) -> Opening:
    """The opening of a sieve by its number, its measured mean in mm and that one's uncertainty.

    Raises:
        InputError: there is no sieve of that number.
    """
    tolerance = tolerance_mm(sieve)
    half_width = tolerance
    if measured_mm is not None:
        half_width = _MEASURED_SHARE * tolerance if u_mm is None else math.sqrt(3) * u_mm
    return Opening(
        serial=serial,
        nominal_mm=opening_mm(sieve),
        mean_mm=opening_mm(sieve) if measured_mm is None else measured_mm,
        half_width_mm=half_width,
        measured=measured_mm is not None,
    )


def check_opening(sieve: int, measured_mm: float) -> None:
    """Check that a measured mean opening in mm can be that of a sieve.

    Raises:
        InputError: it is farther off the nominal opening than any sieve of that number.
    """
    nominal_mm, most_mm = opening_mm(sieve), _MOST_TOLERANCES * tolerance_mm(sieve)
    if over(abs(measured_mm - nominal_mm), most_mm):
        raise InputError(
            f"a mean opening of {measured_mm:g} mm: expected {nominal_mm:g} mm to within "
            f"{most_mm:g} mm for No. {sieve}"
        )


def within_tolerance(sieve: int, measured_mm: float) -> bool:
    """Whether a measured mean opening in mm is one that ASTM E11 allows."""
    return not over(abs(measured_mm - opening_mm(sieve)), tolerance_mm(sieve))


def grading_pct_mm(size: Size, masses_g: Mapping[int, float]) -> float:
    """How much of a charge lies in a mm of opening just above the finer sieve of its size, in %/mm.

    It is the share of the material in size that stays on that sieve, over the distance to the next
    coarser one of the analysis. Without an analysis, as if the charge were spread evenly.
    """
    fine_mm, coarse_mm = opening_mm(size.fine), opening_mm(size.coarse)
    inside = {
        opening_mm(sieve): mass_g
        for sieve, mass_g in masses_g.items()
        if fine_mm <= opening_mm(sieve) < coarse_mm
    }
    total = math.fsum(inside.values())
    if total <= 0 or fine_mm not in inside:
        return 100 / (coarse_mm - fine_mm)
    next_mm = min((one for one in inside if one > fine_mm), default=coarse_mm)
    return 100 * inside[fine_mm] / total / (next_mm - fine_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class SievePair:
    """The sieve of the cut, that after the crush, and what is known of what passes.

    Attributes:
        cut: the sieve that the charge was cut on.
        after: the sieve after the crush.
        grading_pct_mm: how much of the charge lies in a mm of opening, see `grading_pct_mm`.
        blanks_pct: the blanks that hold, each in % of its charge; none without a blank.
    """

    cut: Opening
    after: Opening
    grading_pct_mm: float
    blanks_pct: tuple[float, ...] = ()

    @property
    def is_one(self) -> bool:
        """Whether one sieve, known by its serial, is used for both."""
        return bool(self.cut.serial) and self.cut.serial == self.after.serial

    def components(self, fines_pct: float) -> tuple[Component, ...]:
        """What the pair does to a specimen's fines in %, see `pair_components`."""
        return tuple(
            pair_components(
                self.cut,
                self.after,
                grading_pct_mm=self.grading_pct_mm,
                fines_pct=fines_pct,
                blanks_pct=self.blanks_pct,
            )
        )


def blank_finding(blank_pct: float) -> str | None:
    """What a blank, in % of its charge, says against a pair of sieves; None where nothing."""
    if not over(blank_pct, MOST_BLANK_PCT):
        return None
    return (
        f"{blank_pct:.2f} % of an uncrushed charge passes the sieve after the crush: expected "
        f"{MOST_BLANK_PCT:g} % or less; that sieve is wider, or the cut was short"
    )


def pair_components(
    cut: Opening,
    after: Opening,
    *,
    grading_pct_mm: float,
    fines_pct: float,
    blanks_pct: Sequence[float] = (),
) -> Iterator[Component]:
    """What the openings of the two sieves do to a specimen's fines, as sources in %.

    Nothing is corrected. Whole grains that pass the sieve after the crush are a one-sided source:
    as many as the blank says, or as the openings allow. The opening after the crush also acts on
    fragments, whose mass is taken as spread evenly over sizes below it (Gaudin and Schuhmann with
    an exponent of 1, from memory).

    Args:
        cut: the sieve that the charge was cut on.
        after: the sieve after the crush.
        grading_pct_mm: as `grading_pct_mm` gives it.
        fines_pct: the fines in %.
        blanks_pct: the blanks that hold, each in % of its charge; none without a blank.
    """
    if blanks_pct:
        mean_pct = math.fsum(blanks_pct) / len(blanks_pct)
        yield one_sided("whole grains through the sieve, by the blank", (mean_pct,), PASSING_SHARE)
        u_pct = PASSING_SHARE * mean_pct / math.sqrt(len(blanks_pct))
        yield Component(name=f"scatter of the blank, n = {len(blanks_pct)}", u=u_pct)
    elif not cut.serial or cut.serial != after.serial:
        half_widths_mm = cut.half_width_mm, after.half_width_mm
        amounts = amounts_by_openings(after.mean_mm - cut.mean_mm, half_widths_mm, grading_pct_mm)
        yield one_sided(
            "whole grains through the sieve after the crush; openings: cut "
            f"{cut.known_by}, after {after.known_by}",
            tuple(min(one, fines_pct) for one in amounts),  # no more than all that was weighed
            PASSING_SHARE,
        )
    yield bounded(
        f"opening after the crush, on fragments, {after.known_by}",
        abs(after.mean_mm - after.nominal_mm) + after.half_width_mm,
        fines_pct / after.nominal_mm,
    )
