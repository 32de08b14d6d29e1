"""A round robin of one material: consistency, outliers, repeatability and reproducibility.

Source: ASTM E691 clauses 15 to 17 (Mandel's h and k, s_r, s_R) and ISO 5725-2:1994 7.3 and 7.4
(Cochran, Grubbs, and results whose numbers differ), from memory.
"""

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.distributions import f_quantile, t_quantile
from ramphold.method.outliers import Grubbs, grubbs

LEAST_RESULTS = 2
LEAST_LABORATORIES = 3
#: Level of the consistency statistics, ASTM E691, and of the tests for outliers, ISO 5725-2.
_CONSISTENCY, _OUTLIER = 0.005, 0.01
#: 1.96 times the root of two, as both standards round it.
_FACTOR = 2.8


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyCell:
    """The results of one laboratory.

    Attributes:
        name: of the laboratory, operator or press.
        n: how many results it has.
        mean, sd: of its results; sd with n - 1.
        h, k: Mandel's between- and within-laboratory consistency.
        k_limit: critical value of its `k` at 0.5 %.
    """

    name: str
    n: int
    mean: float
    sd: float
    h: float
    k: float
    k_limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Study:
    """What a round robin shows.

    Attributes:
        cells: each laboratory, in the order given.
        mean: of all results.
        mean_sd: standard deviation of the means.
        repeatability, reproducibility: s_r and s_R.
        h_limit: critical value at 0.5 %.
        cochran, cochran_limit: the greatest share of one laboratory in all variance, and its
            critical value at 1 %, for the number of results that most have.
        cochran_of: the laboratory with that share.
        grubbs: the test of the means at 1 %.
    """

    cells: tuple[StudyCell, ...]
    mean: float
    mean_sd: float
    repeatability: float
    reproducibility: float
    h_limit: float
    cochran: float
    cochran_limit: float
    cochran_of: str
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
        InputError: fewer than three laboratories or two results each, or none that differ within a
            laboratory or between them.
    """
    counts = {name: len(held) for name, held in results.items()}
    if len(counts) < LEAST_LABORATORIES or min(counts.values()) < LEAST_RESULTS:
        raise InputError(
            f"{len(counts)} laboratories with {', '.join(map(str, sorted(set(counts.values()))))} "
            f"results: expected {LEAST_LABORATORIES} or more, each with {LEAST_RESULTS} or more"
        )
    p, total = len(counts), sum(counts.values())
    means = {name: math.fsum(held) / len(held) for name, held in results.items()}
    sds = {name: statistics.stdev(held) for name, held in results.items()}
    variance = math.fsum((counts[name] - 1) * sd**2 for name, sd in sds.items()) / (total - p)
    mean_sd = statistics.stdev(means.values())
    if not variance or not mean_sd:
        raise InputError("all results within a laboratory, or all means, are equal")
    widest = max(sds, key=lambda name: sds[name])
    return Study(
        cells=_cells(means, sds, counts, math.sqrt(variance)),
        mean=math.fsum(counts[name] * at for name, at in means.items()) / total,
        mean_sd=mean_sd,
        repeatability=math.sqrt(variance),
        reproducibility=math.sqrt(variance + _between(means, counts, variance)),
        h_limit=_h_limit(p),
        cochran=sds[widest] ** 2 / math.fsum(sd**2 for sd in sds.values()),
        cochran_limit=cochran_limit(p, statistics.multimode(counts.values())[0], _OUTLIER),
        cochran_of=widest,
        grubbs=grubbs(list(means.values()), significance=_OUTLIER),
    )


def _cells(
    means: Mapping[str, float],
    sds: Mapping[str, float],
    counts: Mapping[str, int],
    repeatability: float,
) -> tuple[StudyCell, ...]:
    middle, mean_sd = statistics.fmean(means.values()), statistics.stdev(means.values())
    dof = sum(counts.values()) - len(counts)
    return tuple(
        StudyCell(
            name=name,
            n=n,
            mean=means[name],
            sd=sds[name],
            h=(means[name] - middle) / mean_sd,
            k=sds[name] / repeatability,
            k_limit=_k_limit(n - 1, dof - (n - 1)),
        )
        for name, n in counts.items()
    )


def _between(means: Mapping[str, float], counts: Mapping[str, int], variance: float) -> float:
    """The variance between laboratories, ISO 5725-2 7.4.5.2."""
    p, total = len(counts), sum(counts.values())
    mean = math.fsum(counts[name] * at for name, at in means.items()) / total
    square = math.fsum(counts[name] * (at - mean) ** 2 for name, at in means.items()) / (p - 1)
    size = (total - math.fsum(n * n for n in counts.values()) / total) / (p - 1)
    return max((square - variance) / size, 0.0)


def cochran_limit(laboratories: int, results: int, significance: float) -> float:
    """Critical value of Cochran's test: the greatest variance over the sum of all."""
    dof = results - 1
    f = f_quantile(1 - significance / laboratories, dof, (laboratories - 1) * dof)
    return 1 / (1 + (laboratories - 1) / f)


def _h_limit(laboratories: int) -> float:
    dof = laboratories - 2
    t = t_quantile(1 - _CONSISTENCY / 2, dof)
    return (laboratories - 1) * t / math.sqrt(laboratories * (t**2 + dof))


def _k_limit(dof: int, others: int) -> float:
    """Critical value of k of a laboratory by its degrees of freedom and those of all others."""
    f = f_quantile(1 - _CONSISTENCY, dof, others)
    return math.sqrt((dof + others) * f / (dof * f + others))
