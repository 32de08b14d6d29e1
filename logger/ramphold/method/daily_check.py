"""The daily checks: what is checked, how often, and how far off it may be.

`DAILY_CHECKS` is the only list of them. Screen, report, command line and daemon read their rules,
words and limits from it, so a new check is a new row here.

The limits are ours. Those at which a load check fails are the limits of class 1 in `force_class`.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from ramphold import units
from ramphold.errors import InputError
from ramphold.method.limits import over
from ramphold.method.lookup import find

_NS_PER_DAY = 86_400 * 10**9


class CheckVerdict(StrEnum):
    """Whether an instrument may be used after a daily check."""

    GOOD = "good"
    WARNING = "warning"
    FAILED = "failed"


class CheckReading(StrEnum):
    """How a check reads its instrument."""

    #: The unloaded instrument at rest. Unless the check fails, its readings count from it.
    ZERO = "zero"
    #: The median of the readings of the last seconds.
    MEDIAN = "median"
    #: The newest reading, which must be marked stable.
    STABLE = "stable"


@dataclass(frozen=True, slots=True, kw_only=True)
class DailyCheck:
    """A check that an instrument needs at regular intervals.

    Attributes:
        name: what records, screen, report and command line call it.
        about: what it checks, to follow the word "Check".
        instrument: what is checked: `load` or `balance`.
        command: the word of `ramphold bench` that makes it; empty where there is none.
        reading: how the instrument is read; None where a person enters the reading.
        known: the kind of quantity that is applied, in whose base unit both values are given; None
            where the instrument's own unit applies.
        base: what the limits are a share of.
        warn_pct, fail_pct: the limits, in % of `base`.
        every_days: after how many days it is due again.
    """

    name: str
    about: str
    instrument: Literal["load", "balance"]
    command: str = ""
    reading: CheckReading | None = None
    known: units.Quantity | None = None
    base: str
    warn_pct: float
    fail_pct: float
    every_days: int = 1

    def is_due(self, made_utc_ns: int | None, utc_ns: int) -> bool:
        """Whether it is due at a time, when last made at another; both UTC in ns.

        Days are calendar days in UTC. A check that was never made (None) is due.
        """
        if made_utc_ns is None:
            return True
        return utc_ns // _NS_PER_DAY - made_utc_ns // _NS_PER_DAY >= self.every_days


LOAD_ZERO = DailyCheck(
    name="load zero",
    about="the zero of the load, with nothing on it, and apply it",
    instrument="load",
    command="zero",
    reading=CheckReading.ZERO,
    base="full range",
    warn_pct=0.05,
    fail_pct=0.1,
)
LOAD_SPAN = DailyCheck(
    name="load span",
    about="what the load reads with a known FORCE on it",
    instrument="load",
    command="span",
    reading=CheckReading.MEDIAN,
    known=units.FORCE,
    base="known load",
    warn_pct=0.5,
    fail_pct=1.0,
)
CHECK_WEIGHT = DailyCheck(
    name="check weight",
    about="what the balance reads with a known MASS on it",
    instrument="balance",
    command="weight",
    reading=CheckReading.STABLE,
    known=units.MASS,
    base="weight",
    warn_pct=0.002,
    fail_pct=0.005,
)

DAILY_CHECKS = (LOAD_ZERO, LOAD_SPAN, CHECK_WEIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckOutcome:
    """The outcome of one check, as its record stores it.

    Attributes:
        rule: the check's name.
        measured, expected: what the instrument read, and what it should have read.
        base: what the limits are a share of, in the same unit.
        off_pct: the error, in % of `base`.
        verdict: whether the error is within the limits.
    """

    rule: str
    measured: float
    expected: float
    base: float
    off_pct: float
    verdict: CheckVerdict


def daily_check(name: str) -> DailyCheck:
    """The check of that name.

    Raises:
        InputError: there is none.
    """
    return find({check.name: check for check in DAILY_CHECKS}, name, "daily check")


def judge(check: DailyCheck, measured: float, expected: float, base: float) -> CheckOutcome:
    """Compare a reading with a known value.

    Args:
        check: which check was made.
        measured: what the instrument read.
        expected: what it should have read, in the same unit.
        base: what the limits are a share of, in the same unit.

    Raises:
        InputError: a number is not finite, or the base is not above zero.
    """
    if not all(map(math.isfinite, (measured, expected, base))) or base <= 0:
        raise InputError(
            f"{check.name}: {measured:g} against {expected:g} with a {check.base} of {base:g}: "
            f"expected finite numbers and a {check.base} above zero"
        )
    off_pct = 100 * (measured - expected) / base
    verdict = CheckVerdict.GOOD
    if over(abs(off_pct), check.fail_pct):
        verdict = CheckVerdict.FAILED
    elif over(abs(off_pct), check.warn_pct):
        verdict = CheckVerdict.WARNING
    return CheckOutcome(
        rule=check.name,
        measured=measured,
        expected=expected,
        base=base,
        off_pct=off_pct,
        verdict=verdict,
    )
