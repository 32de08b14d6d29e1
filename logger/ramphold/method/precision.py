"""Repeatability and reproducibility of a test method, and the spread pooled over many groups.

Source: ASTM E691 clause 15 and ISO 5725-6, from memory.
"""

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from ramphold.errors import InputError
from ramphold.method.distributions import f_quantile, t_quantile

__all__ = ["Precision", "Spread", "pool", "study"]

# 1.96 times the root of 2, rounded as the standards do: two results differ by more in 1 of 20.
_TWO_RESULTS = 2.8
_LEAST_CELLS, _LEAST_RESULTS = 3, 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A standard deviation, and the degrees of freedom that it was won from."""

    sd: float
    dof: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Precision:
    """What a study says of one material.

    Attributes:
        means, sds: of each cell, in the order given.
        mean: of the cell means.
        mean_sd: standard deviation of the cell means.
        repeatability_sd, reproducibility_sd: s_r and s_R.
        repeatability_limit, reproducibility_limit: r and R, 2.8 times those.
        h: each cell mean's distance from `mean` in `mean_sd`.
        k: each cell's standard deviation over s_r.
        h_limit, k_limit: what h (either side) and k go beyond by chance only once in the
            number of times that the significance says.
    """

    means: tuple[float, ...]
    sds: tuple[float, ...]
    mean: float
    mean_sd: float
    repeatability_sd: float
    reproducibility_sd: float
    repeatability_limit: float
    reproducibility_limit: float
    h: tuple[float, ...]
    k: tuple[float, ...]
    h_limit: float
    k_limit: float


def study(cells: Sequence[Sequence[float]], *, significance: float = 0.005) -> Precision:
    """Precision from cells of repeated results: a cell a laboratory, operator, press or day.

    Raises:
        InputError: fewer than three cells, cells of different or less than two results, or a
            result that is not finite.
    """
    size = len(cells[0]) if cells else 0
    if len(cells) < _LEAST_CELLS or size < _LEAST_RESULTS or any(len(c) != size for c in cells):
        raise InputError(
            f"cells of {[len(cell) for cell in cells]} results: expected {_LEAST_CELLS} cells or "
            f"more with the same number of results, {_LEAST_RESULTS} or more"
        )
    if not all(math.isfinite(result) for cell in cells for result in cell):
        raise InputError("a result is not a finite number: expected finite results in every cell")
    means = tuple(math.fsum(cell) / size for cell in cells)
    sds = tuple(statistics.stdev(cell) for cell in cells)
    mean, mean_sd = math.fsum(means) / len(means), statistics.stdev(means)
    within = math.sqrt(math.fsum(sd**2 for sd in sds) / len(sds))
    between = max(within, math.sqrt(mean_sd**2 + within**2 * (size - 1) / size))
    return Precision(
        means=means,
        sds=sds,
        mean=mean,
        mean_sd=mean_sd,
        repeatability_sd=within,
        reproducibility_sd=between,
        repeatability_limit=_TWO_RESULTS * within,
        reproducibility_limit=_TWO_RESULTS * between,
        h=tuple((value - mean) / mean_sd if mean_sd else 0.0 for value in means),
        k=tuple(sd / within if within else 0.0 for sd in sds),
        h_limit=_h_limit(len(cells), significance),
        k_limit=_k_limit(len(cells), size, significance),
    )


def pool(groups: Iterable[Sequence[float]]) -> Spread | None:
    """Spread within groups of results that each have their own mean.

    A group of one says nothing. None where no group has two.
    """
    held = [group for group in groups if len(group) > 1]
    dof = sum(len(group) - 1 for group in held)
    if not dof:
        return None
    total = math.fsum((len(group) - 1) * statistics.variance(group) for group in held)
    return Spread(sd=math.sqrt(total / dof), dof=dof)


def _h_limit(cells: int, significance: float) -> float:
    t = t_quantile(1 - significance / 2, cells - 2)
    return (cells - 1) * t / math.sqrt(cells * (t**2 + cells - 2))


def _k_limit(cells: int, results: int, significance: float) -> float:
    f = f_quantile(1 - significance, results - 1, (cells - 1) * (results - 1))
    return math.sqrt(cells / (1 + (cells - 1) / f))
