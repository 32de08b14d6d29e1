"""The uncertainty of the shares of a sieve analysis, from the openings and the balance.

How a second split of the sample would differ is in none of them: one analysis does not show it.
"""

import math
from collections.abc import Iterator, Mapping

from ramphold.method.sieve_openings import Opening, known_opening
from ramphold.method.sieves import PAN, Size, opening_mm
from ramphold.method.sieving import shares_pct
from ramphold.method.uncertainty import Budget, Component, bounded, combine, step


def share_budgets(
    masses_g: Mapping[int, float],
    size: Size,
    *,
    step_g: float,
    openings: Mapping[int, Opening] | None = None,
) -> tuple[Budget, Budget, Budget]:
    """Share in size, at the coarse end and at the fine end, as `sieving.shares_pct` has them.

    A share changes with an opening by the grading there, the mean of the two intervals beside it.
    Nothing is corrected for a measured opening: its distance from the nominal one is part of the
    bound.

    Args:
        masses_g: net mass in g by sieve number, 0 for the pan; all sieves of the stack, and others
            that were used.
        size: the size that it is compared with.
        step_g: resolution of the balance.
        openings: of the sieves that were used, by number; one that is missing is as ASTM E11
            allows it.

    Raises:
        InputError: as `sieving.analyse`.
    """
    shares, total_g = shares_pct(masses_g, size), math.fsum(masses_g.values())
    top, last = size.stack[0], size.stack[-1]
    known = {sieve: known_opening(sieve) for sieve in masses_g if sieve} | dict(openings or {})
    weighing = [step("balance step", step_g, 100 / total_g)] if step_g else []
    return (
        combine(shares.in_size, "%", [*_at(masses_g, known, size.coarse, size.fine), *weighing]),
        combine(shares.oversize, "%", [*_at(masses_g, known, top), *weighing]),
        combine(shares.undersize, "%", [*_at(masses_g, known, last), *weighing]),
    )


def _at(
    masses_g: Mapping[int, float], known: Mapping[int, Opening], *sieves: int
) -> Iterator[Component]:
    for sieve in sieves:
        opening = known[sieve]
        which = f", sieve {opening.serial}" if opening.serial else ""
        yield bounded(
            f"opening of No. {sieve}{which}, {opening.known_by}",
            abs(opening.mean_mm - opening.nominal_mm) + opening.half_width_mm,
            _density_pct_mm(masses_g, sieve),
        )


def _density_pct_mm(masses_g: Mapping[int, float], sieve: int) -> float:
    """The grading at a sieve in %/mm: the mean of the intervals above and below it that are known.

    What lies on the coarsest sieve or in the pan has no upper or lower end. It is taken as spread
    over an interval as wide as its neighbour.
    """
    openings = sorted((opening_mm(one) for one in masses_g if one != PAN), reverse=True)
    held = {opening_mm(one): masses_g[one] for one in masses_g if one != PAN} | {
        0.0: masses_g.get(PAN, 0.0)
    }
    at = opening_mm(sieve)
    place = openings.index(at)
    above = openings[place - 1] - at if place else None
    below = at - openings[place + 1] if place + 1 < len(openings) else None
    width_above, width_below = above or below or at, below or above or at
    below_mm = openings[place + 1] if below else 0.0
    density = held[at] / width_above / 2 + held[below_mm] / width_below / 2
    return 100 * density / math.fsum(masses_g.values())
