"""A finished run against its limits: named checks and one verdict."""

import math
from collections.abc import Iterator
from enum import StrEnum

from msgspec import Struct, field

from ramphold.core._accounts import HoldAccount, RampAccount
from ramphold.core._plan import Calibration, RunPlan
from ramphold.core._states import RunState


class Verdict(StrEnum):
    """Whether a run passes."""

    PASS = "pass"  # noqa: S105 - a verdict, not a password
    FAIL = "fail"


class Check(Struct, frozen=True, kw_only=True):
    """One criterion of a run.

    Attributes:
        name: what is judged.
        value: the measured value in `unit`; None if it could not be measured.
        unit: its unit.
        limit: least and greatest value allowed; None if that side is open.
        passed: whether it is within the limit; None if there is nothing to judge.
    """

    name: str
    value: float | None
    unit: str
    limit: tuple[float | None, float | None]
    passed: bool | None = field(name="pass")

    @property
    def excess(self) -> float:
        """How far a failed check is outside its limit, as a share of it; inf if not measured."""
        low, high = self.limit
        if self.value is None:
            return math.inf
        if low is not None and self.value < low:
            return (low - self.value) / abs(low) if low else math.inf
        if high is not None and self.value > high:
            return (self.value - high) / abs(high) if high else math.inf
        return 0.0


class Assessment(Struct, frozen=True, kw_only=True):
    """The checks of a run, the values behind them, and the verdict.

    The verdict is `pass` if the run is complete and no check failed.
    """

    state: RunState
    verdict: Verdict
    checks: tuple[Check, ...]
    peak_lbf: float | None
    ramp_rate_psi_min: float | None
    ramp_rms_psi: float | None
    overshoot_pct: float | None
    hold_s: float
    hold_mean_psi: float | None
    out_of_band_s: float
    longest_gap_s: float | None

    @property
    def worst(self) -> Check | None:
        """The failed check that is furthest outside its limit, a measured one if there is one."""
        failed = [check for check in self.checks if check.passed is False]
        return max(failed, key=lambda one: (one.value is not None, one.excess), default=None)


def assess(  # noqa: PLR0913 - the accounts of a run
    plan: RunPlan,
    state: RunState,
    *,
    ramp: RampAccount | None,
    hold: HoldAccount | None,
    peak_psi: float | None,
    longest_gap_s: float | None,
    unanswered_s: float = 0.0,
    jumps: int = 0,
) -> Assessment:
    """Judge a run by the limits of its plan, from the accounts of its ramp and hold."""
    limits, target = plan.limits, plan.target_psi
    overshoot_pct = None if peak_psi is None else max(0.0, (peak_psi / target - 1) * 100)
    held_s, out_of_band_s = (hold.held_s, hold.out_of_band_s) if hold else (0.0, 0.0)
    rate = ramp.rate_psi_min if ramp and hold else None
    rms, mean = ramp.rms_psi if ramp else None, hold.mean_psi if hold else None
    checks = (
        # A hold without a rate means that the load jumped to the target, without any ramp.
        _check("ramp rate", rate, "psi/min", *_around(plan.rate_psi_min, limits.rate_pct),
               missing=False if hold else None),
        _check("deviation from the line, rms", rms, "psi", None, target * limits.rms_pct / 100),
        _check("overshoot", overshoot_pct, "%", None, limits.overshoot_pct),
        _check("hold time", held_s, "s",
               plan.hold_s - limits.hold_short_s, plan.hold_s + limits.hold_long_s),
        _check("hold mean", mean, "psi", *_around(target, limits.hold_mean_pct)),
        _check("out of band", out_of_band_s if hold else None, "s",
               None, plan.hold_s * limits.out_of_band_pct / 100),
        _check("longest gap", longest_gap_s, "s", None, limits.gap_s),
        *(_believable(plan, unanswered_s, jumps) if ramp else ()),
        *_calibration(plan.calibration),
    )  # fmt: skip
    return Assessment(
        state=state,
        verdict=_verdict(state, checks),
        checks=checks,
        peak_lbf=None if peak_psi is None else peak_psi * plan.area_in2,
        ramp_rate_psi_min=rate,
        ramp_rms_psi=rms,
        overshoot_pct=overshoot_pct,
        hold_s=held_s,
        hold_mean_psi=mean,
        out_of_band_s=out_of_band_s,
        longest_gap_s=longest_gap_s,
    )


def _verdict(state: RunState, checks: tuple[Check, ...]) -> Verdict:
    failed = any(check.passed is False for check in checks)
    return Verdict.FAIL if failed or state is not RunState.COMPLETE else Verdict.PASS


def _believable(plan: RunPlan, unanswered_s: float, jumps: int) -> tuple[Check, Check]:
    """Whether the load moved as a load does."""
    silence = _check("longest without an answer", None, "", None, None)
    if plan.cued:
        limit_s = plan.limits.unanswered_s
        silence = _check("longest without an answer", unanswered_s, "s", None, limit_s)
    return silence, _check("jumps of the load", float(jumps), "", None, 0.0)


def _calibration(held: Calibration | None) -> Iterator[Check]:
    if held is None:
        yield _check("calibration", None, "", None, None)
        return
    yield _check("calibration", held.days_left, "d", 0.0, None, missing=False)
    if held.days_early:
        # Clock or certificate is wrong, and nobody can tell how many days are left.
        yield _check("run before its certificate", held.days_early, "d", None, 0.0)


def _around(value: float, pct: float) -> tuple[float, float]:
    return value * (1 - pct / 100), value * (1 + pct / 100)


def _check(  # noqa: PLR0913 - a row of the table above
    name: str,
    value: float | None,
    unit: str,
    low: float | None,
    high: float | None,
    *,
    missing: bool | None = None,
) -> Check:
    passed = missing
    if value is not None:
        # The slack covers the last binary digit of a limit such as 2000 x 1.1.
        slack = 1e-9 * max(abs(low or 0.0), abs(high or 0.0))
        passed = (low is None or value >= low - slack) and (high is None or value <= high + slack)
    return Check(name=name, value=value, unit=unit, limit=(low, high), passed=passed)
