"""Components of variance by restricted maximum likelihood, whatever the design and its gaps.

Source: Searle, Casella and McCulloch, Variance Components (1992), 6.6; the information is the
expected one (Fisher scoring), from memory. Components are not negative: one that would be is zero.
"""

import math
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ramphold.method.precision import Spread

_Matrix = npt.NDArray[np.float64]

_MOST_STEPS = 200
_CONVERGED = 1e-9
# Where a matrix says less than this of a component beside the others, they cannot be told apart.
_ALIASED = 1e-8
# Ours: the least variance of single results, as a share of that about the means of the families.
_LEAST = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class VarianceComponents:
    """The standard deviations behind results.

    Attributes:
        residual: of single results.
        factors: of each factor that can be told apart, by its name; its degrees of freedom are
            Satterthwaite's, from the information of its variance.
    """

    residual: Spread
    factors: dict[str, Spread]


def variance_components(
    values: Sequence[float],
    families: Sequence[Hashable],
    factors: Mapping[str, Sequence[Hashable]],
) -> VarianceComponents | None:
    """Estimate the components of variance of results.

    Args:
        values: the results.
        families: of each result, what has a mean of its own, such as a sand at a stress.
        factors: by name, the level of each result, such as its operator. A factor that cannot be
            told apart from those before it is left out.

    Returns:
        None if no degree of freedom is left for single results, or all results of each family are
        equal.
    """
    y = np.array(values, dtype=float)
    fixed = _indicator(families)
    inside = {name: _indicator(levels) for name, levels in factors.items()}
    outer = {name: z @ z.T for name, z in inside.items()}
    told = _told_apart(fixed, outer)
    parts = [outer[name] for name in told] + [np.eye(len(y))]
    whole = np.hstack([fixed, *(inside[name] for name in told)])
    if len(y) - np.linalg.matrix_rank(whole) < 1 or not _differ(values, families):
        return None
    variances, information = _estimate(y, fixed, parts)
    spreads = [
        _spread(variances[at], information, at, len(set(factors[name])) - 1)
        for at, name in enumerate(told)
    ]
    residual = _spread(variances[-1], information, len(told), len(y) - fixed.shape[1])
    return VarianceComponents(residual=residual, factors=dict(zip(told, spreads, strict=True)))


def _differ(values: Sequence[float], families: Sequence[Hashable]) -> bool:
    return len(set(zip(families, values, strict=True))) > len(set(families))


def _indicator(levels: Sequence[Hashable]) -> _Matrix:
    names = list(dict.fromkeys(levels))
    found = np.zeros((len(levels), len(names)))
    for row, level in enumerate(levels):
        found[row, names.index(level)] = 1.0
    return found


def _told_apart(fixed: _Matrix, outer: Mapping[str, _Matrix]) -> list[str]:
    """The factors whose part in the variance differs from those of the others before them."""
    count = len(fixed)
    project = np.eye(count) - fixed @ np.linalg.pinv(fixed)
    basis: list[_Matrix] = [project.ravel() / np.linalg.norm(project)] if project.any() else []
    told = []
    for name, one in outer.items():
        seen = (project @ one @ project).ravel()
        size = np.linalg.norm(seen)
        if not size > _ALIASED * count:
            continue
        rest = seen / size
        for other in (*basis, *basis):
            rest = rest - (rest @ other) * other
        if (left := np.linalg.norm(rest)) > math.sqrt(_ALIASED):
            basis.append(rest / left)
            told.append(name)
    return told


def _estimate(y: _Matrix, fixed: _Matrix, parts: Sequence[_Matrix]) -> tuple[_Matrix, _Matrix]:
    """The variances of the parts, the last for single results, and their information."""
    scatter = float(np.var(y - fixed @ (np.linalg.pinv(fixed) @ y)))
    variances = np.full(len(parts), scatter / len(parts))
    free = list(range(len(parts)))
    for _ in range(_MOST_STEPS):
        squares, information = _score(y, fixed, parts, variances)
        step = np.zeros(len(parts))
        step[free] = np.linalg.lstsq(information[np.ix_(free, free)], squares[free], rcond=None)[0]
        # Equal replicates have a variance of 0, of which there is no inverse.
        step[-1] = max(step[-1], _LEAST * scatter)
        if (step[:-1] < 0).any():
            # The most negative one is zero; the others are found without it.
            worst = int(np.argmin(step[:-1]))
            free.remove(worst)
            variances[worst] = 0.0
            continue
        moved = float(np.max(np.abs(step - variances)))
        variances = step
        if moved > _CONVERGED * float(variances.sum()):
            continue
        squares, information = _score(y, fixed, parts, variances)
        wanted = squares - information @ variances
        back = [at for at in range(len(parts)) if at not in free and wanted[at] > _CONVERGED]
        if not back:
            break
        free = sorted([*free, back[0]])
        variances[back[0]] = 1e-3 * variances[-1]
    return variances, information / 2


def _score(
    y: _Matrix, fixed: _Matrix, parts: Sequence[_Matrix], variances: _Matrix
) -> tuple[_Matrix, _Matrix]:
    """Twice the quadratic forms and traces whose equality is the maximum of the likelihood."""
    whole = sum(
        (v * part for v, part in zip(variances, parts, strict=True)), np.zeros_like(parts[0])
    )
    inverse = np.linalg.inv(whole)
    on_fixed = inverse @ fixed
    project = inverse - on_fixed @ np.linalg.pinv(fixed.T @ on_fixed) @ on_fixed.T
    ahead = [project @ part for part in parts]
    seen = project @ y
    squares = np.array([seen @ part @ seen for part in parts])
    information = np.array([[np.sum(a * b.T) for b in ahead] for a in ahead])
    return squares, information


def _spread(variance: float, information: _Matrix, at: int, levels: int) -> Spread:
    """A deviation and its degrees of freedom; those of one that is zero are its levels less one."""
    covariance = np.linalg.pinv(information)
    dof = 2 * variance**2 / covariance[at, at] if covariance[at, at] > 0 else 0.0
    if not variance:
        dof = levels
    return Spread(sd=math.sqrt(variance), dof=float(max(dof, 1.0)))
