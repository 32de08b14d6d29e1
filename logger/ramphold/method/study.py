"""A round robin of one material: consistency, outliers, repeatability and reproducibility.

Source: ASTM E691 clauses 15 to 17 (Mandel's h and k, s_r, s_R) and ISO 5725-2:1994 7.3 (Cochran,
Grubbs), from memory. Every laboratory has as many results as the others.
"""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.distributions import f_quantile, t_quantile
from ramphold.method.outliers import Grubbs, grubbs

_LEAST = 2
_LEAST_LABORATORIES = 3
#: Level of the consistency statistics, ASTM E691, and of the tests for outliers, ISO 5725-2.
_CONSISTENCY, _OUTLIER = 0.005, 0.01
#: 1.96 times the root of two, as both standards round it.
_FACTOR = 2.8


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyCell:
    """The results of one laboratory.

    Attributes:
        name: of the laboratory, operator or press.
        mean, sd: of its results; sd with n - 1.
        h, k: Mandel's between- and within-laboratory consistency.
    """

    name: str
    mean: float
    sd: float
    h: float
    k: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What a round robin shows.

    Attributes:
        cells: each laboratory, in the order given.
        results: how many each has.
        mean: of the means.
        mean_sd: standard deviation of the means.
        repeatability, reproducibility: s_r and s_R.
        h_limit, k_limit: critical values at 0.5 %.
        cochran, cochran_limit: the greatest share of one laboratory in all variance, and its
            critical value at 1 %.
        grubbs: the test of the means at 1 %.
    """

    cells: tuple[StudyCell, ...]
    results: int
    mean: float
    mean_sd: float
    repeatability: float
    reproducibility: float
    h_limit: float
    k_limit: float
    cochran: float
    cochran_limit: float
    grubbs: Grubbs

    @property
    def repeatability_limit(self) -> float:
        """r: two results of one laboratory differ by more only once in twenty."""
        return _FACTOR * self.repeatability

    @property
    def reproducibility_limit(self) -> float:
        """R: the same for results of two laboratories."""
        return _FACTOR * self.reproducibility


def study(results: Mapping[str, Sequence[float]]) -> Study:
    """Work out a round robin of one material.

    Args:
        results: those of each laboratory, by its name.

    Raises:
        InputError: fewer than three laboratories or two results each, unequal numbers of results,
            or none that differ within a laboratory or between them.
    """
    counts = {len(held) for held in results.values()}
    if len(results) < _LEAST_LABORATORIES or len(counts) != 1 or min(counts) < _LEAST:
        raise InputError(
            f"{len(results)} laboratories with {', '.join(map(str, sorted(counts))) or 'no'} "
            f"results: expected {_LEAST_LABORATORIES} or more, each with the same number of "
            f"results, {_LEAST} or more"
        )
    (n,), p = counts, len(results)
    means = {name: math.fsum(held) / n for name, held in results.items()}
    sds = {name: statistics.stdev(held) for name, held in results.items()}
    variance = math.fsum(sd**2 for sd in sds.values()) / p
    mean, mean_sd = math.fsum(means.values()) / p, statistics.stdev(means.values())
    if not variance or not mean_sd:
        raise InputError("all results within a laboratory, or all means, are equal")
    within = math.sqrt(variance)
    between = math.sqrt(max(mean_sd**2 + variance * (n - 1) / n, variance))
    return Study(
        cells=tuple(
            StudyCell(name=name, mean=at, sd=sd, h=(at - mean) / mean_sd, k=sd / within)
            for name, at, sd in zip(results, means.values(), sds.values(), strict=True)
        ),
        results=n,
        mean=mean,
        mean_sd=mean_sd,
        repeatability=within,
        reproducibility=between,
        h_limit=_h_limit(p),
        k_limit=_k_limit(p, n),
        cochran=max(sds.values()) ** 2 / (p * variance),
        cochran_limit=cochran_limit(p, n, _OUTLIER),
        grubbs=grubbs(list(means.values()), significance=_OUTLIER),
    )


def cochran_limit(laboratories: int, results: int, significance: float) -> float:
    """Critical value of Cochran's test: the greatest variance over the sum of all."""
    dof = results - 1
    f = f_quantile(1 - significance / laboratories, dof, (laboratories - 1) * dof)
    return 1 / (1 + (laboratories - 1) / f)


def _h_limit(laboratories: int) -> float:
    dof = laboratories - 2
    t = t_quantile(1 - _CONSISTENCY / 2, dof)
    return (laboratories - 1) * t / math.sqrt(laboratories * (t**2 + dof))


def _k_limit(laboratories: int, results: int) -> float:
    dof = results - 1
    f = f_quantile(1 - _CONSISTENCY, dof, (laboratories - 1) * dof)
    return math.sqrt(laboratories * f / (f + laboratories - 1))
