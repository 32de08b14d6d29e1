"""Sieve analysis: whether a proppant has its claimed size, and how coarse it is within it.

From memory of ISO 13503-2:2006 clause 6; the limits are in `limits`.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from ramphold.errors import InputError
from ramphold.method.limits import SievingLimits, over, under
from ramphold.method.sieves import PAN, Size, opening_mm

#: More than any sieve holds, in g; a greater mass is a mistake.
MOST_G = 100_000.0

_MIDDLE_PCT, _ALL_PCT = 50.0, 100.0


@dataclass(frozen=True, slots=True, kw_only=True)
class SieveAnalysis:
    """The result of a sieve analysis; shares are in % of the recovered sum.

    Attributes:
        in_size_pct: passes the sieve that names the coarse end of the size, and stays on the one
            that names the fine end or on one between them.
        oversize_pct: stays on the coarsest sieve of the stack, or on a coarser one that is not in
            the stack.
        undersize_pct: passes the finest sieve of the stack: in the pan, or on a finer sieve that is
            not in the stack.
        loss_pct: charge less recovered sum, in % of the charge; negative for a gain; None if the
            charge is not known.
        mean_mm: mean diameter. Each fraction counts with the mean of its sieve's opening and the
            next coarser one. The coarsest fraction and the pan have none and are left out. None
            if nothing lies between two sieves.
        median_mm: size at 50 % of the cumulative curve of the recovered sum, interpolated
            linearly in the opening. None if that point is not between two sieves.
        conforms: whether all limits are met, whatever sieves were used.
        findings: each limit that is not met, then each sieve that is not in the stack.
    """

    in_size_pct: float
    oversize_pct: float
    undersize_pct: float
    loss_pct: float | None
    mean_mm: float | None
    median_mm: float | None
    conforms: bool
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Fraction:
    opening_mm: float
    pct: float


@dataclass(frozen=True, slots=True)
class Shares:
    """In size, at the coarse end and at the fine end, in %; as in `SieveAnalysis`."""

    in_size: float
    oversize: float
    undersize: float


def analyse(
    masses_g: Mapping[int, float],
    size: Size,
    *,
    allowed: SievingLimits,
    charge_g: float | None = None,
) -> SieveAnalysis:
    """Analyse the sieving of a proppant of a claimed size.

    Args:
        masses_g: mass in g by sieve number, `sieves.PAN` for the pan. A missing sieve of the stack
            holds nothing; a sieve that is not in the stack is used too.
        size: the claimed size.
        allowed: the limits.
        charge_g: mass in g put on the stack.

    Raises:
        InputError: a sieve is unknown, a mass is negative, not finite or absurd, or all are zero.
    """
    fractions = _fractions(masses_g, size)
    shares = _shares(fractions, size)
    loss = None if charge_g is None else loss_pct(charge_g, math.fsum(masses_g.values()))
    broken = _broken(shares, loss, size, allowed)
    return SieveAnalysis(
        in_size_pct=shares.in_size,
        oversize_pct=shares.oversize,
        undersize_pct=shares.undersize,
        loss_pct=loss,
        mean_mm=_mean_mm(fractions),
        median_mm=_size_at_mm(fractions, _MIDDLE_PCT),
        conforms=not broken,
        findings=(*broken, *_foreign(masses_g, size)),
    )


def size_at_mm(masses_g: Mapping[int, float], size: Size, passing_pct: float) -> float | None:
    """Size in mm that a share in % of the recovered sum passes, linear in the opening.

    At 50 % it is the median of `analyse`; the standard fixes no interpolation.

    Args:
        masses_g: as for `analyse`.
        size: the claimed size.
        passing_pct: the share.

    Returns:
        None where that share lies above the coarsest sieve or in the pan.

    Raises:
        InputError: as `analyse`, or the share is not between 0 and 100.
    """
    if not 0 < passing_pct < _ALL_PCT:
        raise InputError(f"a share of {passing_pct:g} %: expected more than 0 and less than 100")
    return _size_at_mm(_fractions(masses_g, size), passing_pct)


def loss_pct(before_g: float, after_g: float, *, of_after: bool = False) -> float:
    """Loss in % of the mass before, or of that after; negative for a gain.

    Raises:
        InputError: a mass is not finite, or the mass that the loss is a share of is not above
            zero.
    """
    whole_g = after_g if of_after else before_g
    if not (math.isfinite(before_g) and math.isfinite(after_g)) or whole_g <= 0:
        raise InputError(f"{before_g:g} g before, {after_g:g} g after: expected a mass above zero")
    return 100 * (before_g - after_g) / whole_g


def _fractions(masses_g: Mapping[int, float], size: Size) -> list[_Fraction]:
    """The share of the recovered sum on every sieve, coarsest first, the pan last."""
    for sieve, mass_g in masses_g.items():
        if not 0 <= mass_g <= MOST_G:
            raise InputError(f"{_name(sieve)} holds {mass_g:g} g: expected 0 to {MOST_G:g} g")
    recovered_g = math.fsum(masses_g.values())
    if recovered_g <= 0:
        raise InputError("every sieve and the pan hold 0 g: expected the masses of a sieving")
    held_g = dict.fromkeys((*size.stack, PAN), 0.0) | dict(masses_g)
    shares = [
        _Fraction(opening_mm(sieve), 100 * mass_g / recovered_g) for sieve, mass_g in held_g.items()
    ]
    return sorted(shares, key=lambda fraction: -fraction.opening_mm)


def shares_pct(masses_g: Mapping[int, float], size: Size) -> Shares:
    """What the limits of a sieve analysis are on, each in % of the recovered sum.

    Raises:
        InputError: as `analyse`.
    """
    return _shares(_fractions(masses_g, size), size)


def _shares(fractions: list[_Fraction], size: Size) -> Shares:
    def share(from_mm: float, below_mm: float) -> float:
        return math.fsum(part.pct for part in fractions if from_mm <= part.opening_mm < below_mm)

    return Shares(
        in_size=share(opening_mm(size.fine), opening_mm(size.coarse)),
        oversize=share(opening_mm(size.stack[0]), math.inf),
        # Material on a sieve finer than the stack's finest would have been in the pan.
        undersize=share(0.0, opening_mm(size.stack[-1])),
    )


def _broken(shares: Shares, loss: float | None, size: Size, allowed: SievingLimits) -> list[str]:
    """Every limit that is not met."""
    findings = []
    if under(shares.in_size, allowed.in_size_pct):
        findings.append(
            f"{shares.in_size:.2f} % in size: expected {allowed.in_size_pct:g} % or more"
        )
    if over(shares.oversize, allowed.coarse_pct):
        findings.append(
            f"{shares.oversize:.2f} % stays on No. {size.stack[0]}: "
            f"expected {allowed.coarse_pct:g} % or less"
        )
    if over(shares.undersize, allowed.fine_pct):
        findings.append(
            f"{shares.undersize:.2f} % passes No. {size.stack[-1]}: "
            f"expected {allowed.fine_pct:g} % or less"
        )
    if loss is not None and over(abs(loss), allowed.loss_pct):
        findings.append(
            f"{abs(loss):.2f} % {'lost' if loss > 0 else 'gained'} in sieving: "
            f"expected {allowed.loss_pct:g} % or less, this sieving is void"
        )
    return findings


def _mean_mm(fractions: list[_Fraction]) -> float | None:
    between = [
        ((coarser.opening_mm + part.opening_mm) / 2, part.pct)
        for coarser, part in pairwise(fractions[:-1])
    ]
    total = math.fsum(pct for _, pct in between)
    if total <= 0:
        return None
    return math.fsum(middle * pct for middle, pct in between) / total


def _size_at_mm(fractions: list[_Fraction], passing_pct: float) -> float | None:
    wanted, held = _ALL_PCT - passing_pct, fractions[0].pct
    if held >= wanted:
        return fractions[0].opening_mm if held == wanted else None
    # The pan has no opening to interpolate to.
    for coarser, part in pairwise(fractions[:-1]):
        if held + part.pct >= wanted:
            way = (wanted - held) / part.pct
            return coarser.opening_mm - way * (coarser.opening_mm - part.opening_mm)
        held += part.pct
    return None


def _foreign(masses_g: Mapping[int, float], size: Size) -> list[str]:
    return [
        f"{_name(sieve)} is not in the stack for {size.name}"
        for sieve in masses_g
        if sieve not in size.stack and sieve != PAN
    ]


def _name(sieve: int) -> str:
    return "the pan" if sieve == PAN else f"No. {sieve}"
