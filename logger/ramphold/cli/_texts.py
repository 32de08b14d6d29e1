"""A run in words, for people: what happened, and how it was judged."""

from collections.abc import Iterable

from ramphold.core import (
    Assessment,
    Check,
    Event,
    ReadingsLost,
    ReadingsResumed,
    StateChanged,
)

__all__ = ["assessment_lines", "event_line"]

_WORDS = {True: "yes", False: "NO", None: "-"}
_NAME_WIDTH = 28


def event_line(event: Event, start_ns: int) -> str:
    """One event in one line, with its time since the run's start."""
    match event:
        case StateChanged():
            at = "" if event.stress_psi is None else f" at {event.stress_psi:.0f} psi"
            what = f"{event.after:<10}{event.reason}{at}"
        case ReadingsLost():
            what = f"{'no load':<10}no usable reading any more"
        case ReadingsResumed():
            what = f"{'load back':<10}after {event.gap_s:.1f} s without"
    return f"{(event.t_ns - start_ns) / 1e9:8.1f} s  {what}"


def assessment_lines(assessment: Assessment) -> Iterable[str]:
    """The checks as a table, then the verdict."""
    yield f"{'check':<{_NAME_WIDTH}} {'measured':>12} {'':<8} {'allowed':<20} kept"
    for check in assessment.checks:
        value = "-" if check.value is None else f"{check.value:.2f}"
        yield (
            f"{check.name:<{_NAME_WIDTH}} {value:>12} {check.unit:<8} "
            f"{_limit(check):<20} {_WORDS[check.passed]}"
        )
    yield f"verdict: {assessment.verdict} (run {assessment.state})"


def _limit(check: Check) -> str:
    low, high = check.limit
    if low is None and high is None:
        return "not judged"
    if low is None:
        return f"up to {high:.2f}"
    if high is None:
        return f"from {low:.2f}"
    return f"{low:.2f} to {high:.2f}"
