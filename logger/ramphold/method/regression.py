"""Least squares: a straight line or a quadratic through measured points.

The sums are exact: each value counts as its decimal text, in rational arithmetic, so that neither
scale nor order of the points changes a digit.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product

from ramphold.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A polynomial y = c0 + c1 (x - origin) + ... with its analysis of variance.

    Attributes:
        origin: zero of x in the polynomial.
        coefficients: c0, c1, ... lowest power first.
        inverse: inverse of the normal matrix; times the square of `residual_sd` it is the
            covariance matrix of the coefficients.
        low, high: the fitted range of x.
        dof: degrees of freedom of the residuals.
        residual_ss: sum of the squared residuals.
        regression_ss: explained sum of squares about the mean.
    """

    origin: float
    coefficients: tuple[float, ...]
    inverse: tuple[tuple[float, ...], ...]
    low: float
    high: float
    dof: int
    residual_ss: float
    regression_ss: float

    @property
    def residual_sd(self) -> float:
        """Standard deviation of the residuals."""
        return math.sqrt(self.residual_ss / self.dof)

    @property
    def r_squared(self) -> float:
        """The explained share of the sum of squares; 1 if all y are equal."""
        total = self.regression_ss + self.residual_ss
        return self.regression_ss / total if total else 1.0

    @property
    def f_ratio(self) -> float:
        """Mean square of the regression over that of the residuals; infinite for an exact fit."""
        if not self.residual_ss:
            return math.inf
        explained = self.regression_ss / (len(self.coefficients) - 1)
        return explained / (self.residual_ss / self.dof)

    def covariance(self, row: int, column: int) -> float:
        """Covariance of two coefficients; the variance of one for equal indices."""
        return self.inverse[row][column] * self.residual_sd**2

    def at(self, x: float) -> float:
        """The fitted y at x."""
        value = 0.0
        for coefficient in reversed(self.coefficients):
            value = value * (x - self.origin) + coefficient
        return value

    def leverage(self, x: float) -> float:
        """Variance of the fitted y at x, as a multiple of the residual variance."""
        away = x - self.origin
        powers = range(len(self.coefficients))
        terms = (self.inverse[i][j] * away ** (i + j) for i, j in product(powers, powers))
        return max(math.fsum(terms), 0.0)

    def u_at(self, x: float, *, single: bool = False) -> float:
        """Standard uncertainty of the fitted y at x, or of a single new reading there."""
        return self.residual_sd * math.sqrt(single + self.leverage(x))


def fit(x: Sequence[float], y: Sequence[float], *, degree: int, origin: float = 0.0) -> Fit:
    """Fit a polynomial by least squares, each point with the same weight.

    Args:
        x: where it was measured.
        y: the values measured there.
        degree: 1 for a straight line, 2 for a quadratic.
        origin: zero of x in the polynomial.

    Raises:
        InputError: x and y differ in number, a value is not finite or too large to be squared,
            there are no more points than coefficients, or fewer different x than coefficients.
    """
    count = degree + 1
    _check_points(x, y, origin, count)
    away = [_exact(value) - _exact(origin) for value in x]
    measured = [_exact(value) for value in y]
    moments = [sum((u**power for u in away), Fraction()) for power in range(2 * count - 1)]
    sides = [
        sum((u**power * v for u, v in zip(away, measured, strict=True)), Fraction())
        for power in range(count)
    ]
    inverse = _inverse([[moments[i + j] for j in range(count)] for i in range(count)])
    solved = [sum(map(Fraction.__mul__, row, sides), Fraction()) for row in inverse]
    squares = sum((v * v for v in measured), Fraction())
    explained = sum(map(Fraction.__mul__, solved, sides), Fraction())
    try:
        return Fit(
            origin=origin,
            coefficients=tuple(map(float, solved)),
            inverse=tuple(tuple(map(float, row)) for row in inverse),
            low=min(x),
            high=max(x),
            dof=len(x) - count,
            residual_ss=float(squares - explained),
            regression_ss=float(explained - sides[0] ** 2 / len(x)),
        )
    except OverflowError:
        raise InputError(
            f"x from {min(x):g} to {max(x):g} and y from {min(y):g} to {max(y):g}: "
            "expected numbers small enough to be squared"
        ) from None


def _check_points(x: Sequence[float], y: Sequence[float], origin: float, count: int) -> None:
    if len(x) != len(y) or not all(map(math.isfinite, (*x, *y, origin))):
        raise InputError(f"{len(x)} x and {len(y)} y: expected as many finite numbers of each")
    if len(x) <= count or len(set(x)) < count:
        raise InputError(
            f"{len(x)} points at {len(set(x))} different x: expected more than {count} points "
            f"at {count} or more x for a fit with {count} coefficients"
        )


def _exact(value: float) -> Fraction:
    return Fraction(str(float(value)))


def _inverse(matrix: list[list[Fraction]]) -> list[list[Fraction]]:
    """Inverse of a positive definite matrix, by elimination."""
    size = len(matrix)
    rows = [[*row, *(Fraction(i == j) for j in range(size))] for i, row in enumerate(matrix)]
    for pivot in range(size):
        rows[pivot] = [value / rows[pivot][pivot] for value in rows[pivot]]
        for other in range(size):
            if other != pivot:
                share = rows[other][pivot]
                rows[other] = [
                    value - share * lead
                    for value, lead in zip(rows[other], rows[pivot], strict=True)
                ]
    return [row[size:] for row in rows]
