"""Whole grains that pass the sieve after the crush: how many, as far as it is known.

If that sieve is wider than the one of the cut, grains between the two openings are weighed as
fines. If it is not, none are. So the effect is never negative, and it is the same at each stress:
what is left without it must still rise as fines do.
"""

import math
from collections.abc import Iterable, Sequence

from ramphold.method.log_odds import has_odds, log_odds

#: Ours, from memory of sievings: standard deviation of what passes of one charge from that of the
#: next, as a share of it.
PASSING_SHARE = 0.25

# As many equally likely amounts stand for the distribution of the effect.
_AMOUNTS = 40
# Ours, from memory of crush curves: slope of the log-odds over the logarithm of stress with its
# deviation from sand to sand, and that of the bend (half the second derivative).
_SLOPE, _SLOPE_SD, _BEND_SD = 3.0, 1.0, 0.3
# So wide that nothing is said about the height of the curve.
_HEIGHT_SD = 100.0
# Of the log-odds of a specimen: far finer than a balance tells, so that specimens that are equal
# leave something to divide by.
_LEAST_VARIANCE = 1e-6


def amounts_by_openings(
    apart_mm: float, half_widths_mm: tuple[float, float], grading_pct_mm: float
) -> tuple[float, ...]:
    """Equally likely amounts in % of the charge, by the openings of two sieves.

    Args:
        apart_mm: how much wider the sieve after the crush is than that of the cut, in mm.
        half_widths_mm: how far either mean opening may be off, in mm; every deviation within it
            is as likely as another (JCGM 100:2008 4.3.7).
        grading_pct_mm: how much of the charge lies in a mm of opening, in %/mm.
    """
    wide, narrow = max(half_widths_mm), min(half_widths_mm)
    return tuple(
        grading_pct_mm * max(apart_mm + _difference((i + 0.5) / _AMOUNTS, wide, narrow), 0.0)
        for i in range(_AMOUNTS)
    )


def weigh_amounts(
    amounts: Sequence[float],
    weights: Sequence[float],
    means_pct: Iterable[tuple[float, float, int]],
    sd: float,
    share: float = PASSING_SHARE,
) -> tuple[float, ...]:
    """The weight of each amount once the mean fines at several stresses are known.

    The less the rest of the fines looks like a curve of fines, the less likely is an amount: that
    curve is straight in the log-odds over the logarithm of stress, but for a bend as sands have
    it. An amount above the fines at a stress is impossible. The weights follow by Bayes' theorem
    for a curve of normal slope and bend, whatever its height.

    Args:
        amounts: possible amounts in %.
        weights: their probability before.
        means_pct: stress in psi, mean fines in %, number of specimens.
        sd: of the log-odds of a specimen by itself.
        share: standard deviation of what passes of a charge, as a share of it.
    """
    means = [one for one in means_pct if one[1]]
    if not means:
        return tuple(weights)
    centre = math.fsum(math.log(stress_psi) for stress_psi, _, _ in means) / len(means)
    misfits = [_misfit(amount, means, centre, (sd, share)) for amount in amounts]
    least = min((one[0] for one in misfits if one is not None), default=None)
    if least is None:
        return tuple(weights)  # no amount leaves fines at every stress: they say nothing
    # The height takes one degree of freedom. Where even the best curve fits badly, the means
    # scatter by more than was said, and tell less (Birge ratio).
    scale = max(least / max(len(means) - 1, 1), 1.0)
    logs = [
        -math.inf if one is None or not weight else math.log(weight) - one[0] / scale / 2 - one[1]
        for one, weight in zip(misfits, weights, strict=True)
    ]
    most = max(logs)
    shares = [math.exp(one - most) for one in logs]
    total = math.fsum(shares)
    return tuple(one / total for one in shares)


def _difference(p: float, wide: float, narrow: float) -> float:
    """Quantile of the sum of two rectangular deviations, a trapezium."""
    if p > 0.5:  # noqa: PLR2004 - the middle, about which it is symmetric
        return -_difference(1 - p, wide, narrow)
    if 2 * wide * p <= narrow:
        return math.sqrt(8 * wide * narrow * p) - wide - narrow
    return 2 * wide * p - wide


def _misfit(
    amount: float,
    means: Sequence[tuple[float, float, int]],
    centre: float,
    scatter: tuple[float, float],
) -> tuple[float, float] | None:
    """How badly a curve fits the means less an amount; None if some mean is no more than that.

    It is a sum of squares, and what else makes the density of the means smaller, as a logarithm.
    The three coefficients of the curve are learned from one mean after the other (Kalman filter).
    """
    state = [0.0, _SLOPE, 0.0]
    spread = [[_HEIGHT_SD**2, 0.0, 0.0], [0.0, _SLOPE_SD**2, 0.0], [0.0, 0.0, _BEND_SD**2]]
    squares = others = 0.0
    for stress_psi, mean_pct, n in means:
        rest_pct = mean_pct - amount
        if not has_odds(rest_pct):
            return None
        x = math.log(stress_psi) - centre
        row = (1.0, x, x * x)
        gain = [math.fsum(spread[i][j] * row[j] for j in range(3)) for i in range(3)]
        passing = scatter[1] * amount * 100 / (rest_pct * (100 - rest_pct))
        scattered = max(scatter[0] ** 2 + passing**2, _LEAST_VARIANCE)
        variance = max(math.fsum(row[i] * gain[i] for i in range(3)), 0.0) + scattered / n
        off = log_odds(rest_pct) - math.fsum(row[i] * state[i] for i in range(3))
        squares += off * off / variance
        # The density is that of the fines, not of their odds.
        others += math.log(variance) / 2 + math.log(rest_pct * (100 - rest_pct))
        state = [state[i] + gain[i] * off / variance for i in range(3)]
        spread = [[spread[i][j] - gain[i] * gain[j] / variance for j in range(3)] for i in range(3)]
    return squares, others
