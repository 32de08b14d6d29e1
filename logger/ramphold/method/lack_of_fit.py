"""Whether a fit has the right shape, by the scatter of replicates."""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from ramphold.method.distributions import f_tail
from ramphold.method.regression import Fit


@dataclass(frozen=True, slots=True, kw_only=True)
class LackOfFit:
    """Whether points deviate from a fit by more than replicates scatter.

    Attributes:
        f_ratio: mean square of the lack of fit over that of the replicates.
        lack_dof: degrees of freedom of the lack of fit.
        pure_dof: degrees of freedom of the replicates.
        replicate_sd: standard deviation of the replicates.
        p_value: probability of so large a ratio if the fit is right.
    """

    f_ratio: float
    lack_dof: int
    pure_dof: int
    replicate_sd: float
    p_value: float


def lack_of_fit(
    fitted: Fit,
    x: Sequence[float],
    y: Sequence[float],
    groups: Sequence[Hashable] | None = None,
) -> LackOfFit | None:
    """Test a fit against the scatter of replicates.

    Args:
        fitted: the fit to these points.
        x: where it was measured.
        y: the values measured there.
        groups: a label for each point; points with the same label are replicates. By default
            those of equal x are. Labelled replicates may lie at slightly different x, since
            their residuals are compared.

    Returns:
        None if there are no replicates, or no more groups than coefficients.

    Source: NIST/SEMATECH e-Handbook of Statistical Methods 4.4.4.6, from memory.
    """
    by_group: dict[Hashable, list[float]] = {}
    for label, u, v in zip(x if groups is None else groups, x, y, strict=True):
        by_group.setdefault(label, []).append(v - fitted.at(u))
    pure_ss = math.fsum(map(_scatter, by_group.values()))
    pure_dof = len(x) - len(by_group)
    lack_dof = len(by_group) - len(fitted.coefficients)
    if pure_dof < 1 or lack_dof < 1:
        return None
    lack = max(fitted.residual_ss - pure_ss, 0.0) / lack_dof
    pure = pure_ss / pure_dof
    ratio = lack / pure if pure else (math.inf if lack else 0.0)
    return LackOfFit(
        f_ratio=ratio,
        lack_dof=lack_dof,
        pure_dof=pure_dof,
        replicate_sd=math.sqrt(pure),
        p_value=f_tail(ratio, lack_dof, pure_dof),
    )


def _scatter(values: Sequence[float]) -> float:
    """Sum of squares about the mean."""
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values)
