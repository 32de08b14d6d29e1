"""Daily checks of load chain and balance against something known, with a limit that warns first.

The limits are ours: the load's failing ones are those of class 1 in `force_class`.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from ramphold.errors import InputError
from ramphold.method.limits import over

__all__ = ["CHECK_WEIGHT", "LOAD_SPAN", "LOAD_ZERO", "CheckRule", "DailyCheck", "Verdict", "judge"]


class Verdict(StrEnum):
    """What a daily check says of an instrument."""

    GOOD = "good"
    WARNING = "warning"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRule:
    """How far a check may be off, in % of `base`: what warns and what fails."""

    name: str
    base: str
    warn_pct: float
    fail_pct: float


LOAD_ZERO = CheckRule(name="load zero", base="full range", warn_pct=0.05, fail_pct=0.1)
LOAD_SPAN = CheckRule(name="load span", base="known load", warn_pct=0.5, fail_pct=1.0)
CHECK_WEIGHT = CheckRule(name="check weight", base="weight", warn_pct=0.002, fail_pct=0.005)


@dataclass(frozen=True, slots=True, kw_only=True)
class DailyCheck:
    """One check: what was read, what is known, how far off in % of the base."""

    rule: CheckRule
    measured: float
    expected: float
    off_pct: float
    verdict: Verdict


def judge(rule: CheckRule, measured: float, expected: float, base: float) -> DailyCheck:
    """Hold a reading against a known value.

    Args:
        rule: which check it is.
        measured: what the instrument read.
        expected: what it should have read, in the same unit.
        base: what the limits are a share of, in the same unit.

    Raises:
        InputError: a number that is not finite, or a base not above zero.
    """
    if not all(map(math.isfinite, (measured, expected, base))) or base <= 0:
        raise InputError(
            f"{rule.name}: {measured:g} against {expected:g} with a {rule.base} of {base:g}: "
            f"expected finite numbers and a {rule.base} above zero"
        )
    off_pct = 100 * (measured - expected) / base
    verdict = Verdict.GOOD
    if over(abs(off_pct), rule.fail_pct):
        verdict = Verdict.FAILED
    elif over(abs(off_pct), rule.warn_pct):
        verdict = Verdict.WARNING
    return DailyCheck(
        rule=rule,
        measured=measured,
        expected=expected,
        off_pct=off_pct,
        verdict=verdict,
    )
