"""What a pair of sieves may do to the fines: hypotheses that are weighed against each other.

Each is a pair of true openings, and how much what passes differs from charge to charge. If the
sieve after the crush is the wider one, grains between the two openings are weighed as fines, the
same share of the charge at every stress. Its opening also changes the fragments. Both follow from
the same opening, so that they are followed together.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from ramphold.method.sieve_openings import SievePair

Floats = npt.NDArray[np.float64]

# Ours, from memory of sievings: what passes of one charge differs from that of the next by about a
# quarter of itself, perhaps by next to nothing, perhaps by half. Specimens and blank say which.
_SHARES = ((0.03, 0.15), (0.12, 0.2), (0.2, 0.25), (0.3, 0.25), (0.45, 0.15))
# As many equally likely pairs of openings stand for their distribution, and as many steps lead to
# them.
_PAIRS, _STEPS = 40, 1201
# Ours: what a balance and a brush leave uncertain of a mass in the pan, in % of the charge.
WEIGHED_PCT = 0.02
# Ours: density of openings beyond what is allowed, over the greatest; a blank can show a worn
# sieve.
_BEYOND = 1e-3


@dataclass(frozen=True, slots=True, eq=False)
class PairHypotheses:
    """What may be true of a pair of sieves; one array entry for each.

    Attributes:
        log_weights: logarithms of their weights, before any specimen is known.
        whole_pct: whole grains that pass, in % of the charge.
        widening: by what share the fines are too many because of the opening after the crush.
        half_widths: how far `widening` may be off.
        shares: standard deviation of what passes from charge to charge, as a share of it.
    """

    log_weights: Floats
    whole_pct: Floats
    widening: Floats
    half_widths: Floats
    shares: Floats

    def at(self, places: npt.NDArray[np.intp]) -> "PairHypotheses":
        """Those at some places, which may be named repeatedly."""
        return PairHypotheses(
            self.log_weights[places],
            self.whole_pct[places],
            self.widening[places],
            self.half_widths[places],
            self.shares[places],
        )


@lru_cache(maxsize=16)  # a sample keeps its pair
def pair_hypotheses(pair: SievePair | None) -> PairHypotheses:
    """The hypotheses on a pair of sieves, blanks included; a single one without a pair."""
    if pair is None:
        nothing = np.zeros(1)
        return PairHypotheses(nothing, nothing, nothing, nothing, nothing)
    if pair.is_one and not pair.blanks_pct:
        off, half = pair.after.mean_mm - pair.after.nominal_mm, pair.after.half_width_mm
        nothing = np.zeros(1)
        nominal = pair.after.nominal_mm
        return PairHypotheses(
            nothing, nothing, nothing + off / nominal, nothing + half / nominal, nothing
        )
    if any(pair.blanks_pct) and not pair.grading_pct_mm:
        # Grains pass where the analysis has none. They say nothing of the openings: as from a
        # charge spread evenly up to twice the opening, the coarse end of most sizes.
        pair = replace(pair, grading_pct_mm=100 / pair.after.nominal_mm)
    parts = [_with_share(pair, share, weight) for share, weight in _SHARES]
    return PairHypotheses(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _with_share(pair: SievePair, share: float, weight: float) -> tuple[Floats, ...]:
    """Equally likely pairs of openings, if what passes differs by a share of itself."""
    apart_mm, density = _apart(pair)
    passing = pair.grading_pct_mm * np.maximum(apart_mm, 0.0)
    for blank_pct in pair.blanks_pct:
        sd = np.hypot(share * passing, WEIGHED_PCT)
        density = density * np.exp(-(((blank_pct - passing) / sd) ** 2) / 2) / sd
    evidence = max(float(density.mean()), np.finfo(float).tiny)
    levels = np.cumsum(density) / max(float(density.sum()), np.finfo(float).tiny)
    apart_mm = np.interp((np.arange(_PAIRS) + 0.5) / _PAIRS, levels, apart_mm)
    widening, half_widths = _openings_after(pair, apart_mm)
    return (
        np.full(_PAIRS, np.log(weight * evidence / _PAIRS)),
        pair.grading_pct_mm * np.maximum(apart_mm, 0.0),
        widening,
        half_widths,
        np.full(_PAIRS, share),
    )


def _apart(pair: SievePair) -> tuple[Floats, Floats]:
    """How much wider the second sieve may be, in mm, and the density of that.

    The difference of two rectangular deviations is a trapezium. A blank also tells of sieves
    beyond what is allowed, and of a short cut on a single sieve.
    """
    middle = 0.0 if pair.is_one else pair.after.mean_mm - pair.cut.mean_mm
    wide, narrow = (
        select(pair.cut.half_width_mm, pair.after.half_width_mm) for select in (max, min)
    )
    low = high = 0.0
    if not pair.is_one:
        low, high = middle - wide - narrow, middle + wide + narrow
    if pair.blanks_pct:
        high = max(high, low + wide)
    if any(pair.blanks_pct):
        high = max(high, 2 * max(pair.blanks_pct) / pair.grading_pct_mm)
    apart_mm = np.linspace(low, high, _STEPS)
    inside = np.clip(wide + narrow - np.abs(apart_mm - middle), 0.0, 2 * narrow)
    density = np.zeros(_STEPS) if pair.is_one else inside / max(float(inside.max()), 1e-12)
    return apart_mm, density + (_BEYOND if pair.blanks_pct else 1e-12)


def _openings_after(pair: SievePair, apart_mm: Floats) -> tuple[Floats, Floats]:
    """What the opening after the crush does to the fines, given how far the two are apart."""
    after, nominal_mm = pair.after, pair.after.nominal_mm
    half_mm, other_mm = after.half_width_mm, pair.cut.half_width_mm
    low, high = np.full(apart_mm.shape, -half_mm), np.full(apart_mm.shape, half_mm)
    if not pair.is_one:
        off_mm = np.clip(
            apart_mm - (after.mean_mm - pair.cut.mean_mm), -half_mm - other_mm, half_mm + other_mm
        )
        low, high = np.maximum(low, off_mm - other_mm), np.minimum(high, off_mm + other_mm)
    middle_mm = after.mean_mm - nominal_mm + (low + high) / 2
    # Where the two are apart by all that is allowed, their distance is 0 but for rounding.
    return middle_mm / nominal_mm, np.maximum(high - low, 0.0) / 2 / nominal_mm
