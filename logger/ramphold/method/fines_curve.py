"""The fines-stress curve: a straight line of log-odds over the logarithm of stress.

It only rises. If the line deviates from the specimens by more than their scatter, it is fitted over
fewer stresses, those nearest to the limit.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean

from ramphold.method.distributions import two_sided_t
from ramphold.method.lack_of_fit import LackOfFit, lack_of_fit
from ramphold.method.limits import FINES_PCT
from ramphold.method.log_odds import by_stress, fines_pct, has_odds, log_odds
from ramphold.method.regression import Fit, fit

# The line is rejected if chance gives its lack of fit less often than this.
_LEAST_P = 0.05
_LEAST_STRESSES, _LEAST_SPECIMENS = 2, 3

# A crossing farther than this factor from the middle of the stresses is ignored.
_FAR = math.log(100)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where the curve crosses a limit.

    Attributes:
        stress_psi: the stress in psi.
        low_psi, high_psi: its confidence interval (Fieller's); both None if the slope of the curve
            is too uncertain to bound it.
        extrapolated: whether it lies outside the fitted stresses.
    """

    stress_psi: float
    low_psi: float | None
    high_psi: float | None
    extrapolated: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class FinesCurve:
    """A fitted curve.

    Attributes:
        line: log-odds of the fines over the natural logarithm of stress in psi.
        stresses_psi: the fitted stresses, lowest first.
        lack: test of the line against the scatter of replicates; None if it cannot be tested.
        findings: what was left out, and why.
    """

    line: Fit
    stresses_psi: tuple[float, ...]
    lack: LackOfFit | None
    findings: tuple[str, ...]

    def fines_pct(self, stress_psi: float) -> float:
        """Mean fines in % at a stress in psi."""
        return fines_pct(self.line.at(math.log(stress_psi)))

    def band_pct(self, stress_psi: float, *, confidence: float = 0.95) -> tuple[float, float]:
        """Interval of the mean fines in % at a stress in psi."""
        x = math.log(stress_psi)
        reach = two_sided_t(confidence, self.line.dof) * self.line.u_at(x)
        return fines_pct(self.line.at(x) - reach), fines_pct(self.line.at(x) + reach)

    def slope_pct_psi(self, stress_psi: float) -> float:
        """The slope of the fines in % per psi at a stress in psi."""
        share = self.fines_pct(stress_psi) / 100
        return 100 * share * (1 - share) * self.line.coefficients[1] / stress_psi

    def crossing(
        self, limit_pct: float = FINES_PCT, *, confidence: float = 0.95
    ) -> Crossing | None:
        """The stress at which the curve crosses a limit in %, with its interval.

        None if it is a hundred times more or less than the tested stresses.

        Source of the interval: Fieller's theorem, from memory.
        """
        line = self.line
        gap, slope = line.coefficients[0] - log_odds(limit_pct), line.coefficients[1]
        at = line.origin - gap / slope
        if abs(at - line.origin) > _FAR:
            return None
        square = two_sided_t(confidence, line.dof) ** 2
        a = slope**2 - square * line.covariance(1, 1)
        b = gap * slope - square * line.covariance(0, 1)
        c = gap**2 - square * line.covariance(0, 0)
        reach = math.sqrt(max(b * b - a * c, 0.0)) / a if a > 0 else math.inf
        bounded = reach <= _FAR
        return Crossing(
            stress_psi=math.exp(at),
            low_psi=math.exp(line.origin - b / a - reach) if bounded else None,
            high_psi=math.exp(line.origin - b / a + reach) if bounded else None,
            extrapolated=not line.low <= at <= line.high,
        )


def fit_fines(
    specimens: Iterable[tuple[float, float]], limit_pct: float = FINES_PCT
) -> FinesCurve | None:
    """Fit the curve to specimens: stress in psi and fines in % of each.

    Returns:
        None with fewer than three specimens or two stresses, or if the fines do not rise.

    Raises:
        InputError: a stress is not above zero, or a number is not finite.
    """
    everything: dict[float, list[float]] = {}
    findings = []
    for stress_psi, group in by_stress(specimens).items():
        if odds := [log_odds(fines) for fines in group if has_odds(fines)]:
            everything[stress_psi] = odds
        findings += [
            f"a specimen of {fines:g} % fines at {stress_psi:g} psi is not in the curve"
            for fines in group
            if not has_odds(fines)
        ]
    if not _enough(everything):
        return None
    used = everything
    line, lack = whole = _straight(used)
    while lack is not None and lack.p_value < _LEAST_P:
        nearer = _nearer(used, log_odds(limit_pct))
        if not _enough(nearer):
            break
        used = nearer
        line, lack = _straight(used)
    if line.coefficients[1] <= 0:
        return None
    if used is not everything and whole[1] is not None:
        findings.append(
            f"the curve is fitted over {min(used):g} to {max(used):g} psi: over all stresses "
            f"it does not fit the specimens (p = {whole[1].p_value:.2g})"
        )
    return FinesCurve(line=line, stresses_psi=tuple(used), lack=lack, findings=tuple(findings))


def _enough(groups: dict[float, list[float]]) -> bool:
    return len(groups) >= _LEAST_STRESSES and sum(map(len, groups.values())) >= _LEAST_SPECIMENS


def _straight(groups: dict[float, list[float]]) -> tuple[Fit, LackOfFit | None]:
    x = [math.log(stress_psi) for stress_psi, group in groups.items() for _ in group]
    y = [odds for group in groups.values() for odds in group]
    line = fit(x, y, degree=1, origin=fmean(x))
    return line, lack_of_fit(line, x, y)


def _nearer(groups: dict[float, list[float]], limit: float) -> dict[float, list[float]]:
    """The groups without the stress farthest from the two that enclose the limit."""
    stresses_psi = list(groups)
    over_limit = (at for at, group in enumerate(groups.values()) if fmean(group) > limit)
    passed = next(over_limit, len(groups))
    middle_psi = fmean(stresses_psi[max(passed - 1, 0) : passed + 1])
    farthest = max(stresses_psi, key=lambda stress_psi: abs(stress_psi - middle_psi))
    return {stress_psi: group for stress_psi, group in groups.items() if stress_psi != farthest}
