"""A run as text: its events, and its assessment."""

from collections.abc import Iterable

from ramphold.core import (
    Assessment,
    CueGiven,
    Event,
    HandLearned,
    ReadingsLost,
    ReadingsResumed,
    RunTakenUp,
    StateChanged,
    StyleChosen,
    WarningAcknowledged,
    WarningCleared,
    WarningRaised,
)

_WORDS = {True: "yes", False: "NO", None: "-"}
_NAME_WIDTH = 28


def event_line(event: Event, start_ns: int) -> str | None:
    """An event as a line, with its time since the start; None for an event of little interest."""
    match event:
        case StateChanged():
            at = "" if event.stress_psi is None else f" at {event.stress_psi:.0f} psi"
            word, what = event.after.value, f"{event.reason}{at}"
        case ReadingsLost():
            word, what = "no load", "no usable readings"
        case ReadingsResumed():
            word, what = "load back", f"after {event.gap_s:.1f} s without"
        case RunTakenUp():
            word, what = "taken up", f"by a new daemon, after {event.gap_s:.1f} s without"
        case WarningRaised() if event.kind.latched:
            word, what = "warning", _warning(event)
        case WarningAcknowledged():
            word, what = "seen", event.kind.value
        case StyleChosen():
            word, what = "style", event.style.value
        case WarningRaised() | WarningCleared() | CueGiven() | HandLearned():
            return None
    return f"{(event.t_ns - start_ns) / 1e9:8.1f} s  {word:<10}{what}"


def _warning(raised: WarningRaised) -> str:
    if raised.load_lbf is None:
        return str(raised.kind)
    load = f"{raised.kind}: {raised.load_lbf:.0f} lbf"
    if raised.limit_lbf is None:
        return load
    return f"{load}, the limit of the {raised.name} is {raised.limit_lbf:.0f} lbf"


def assessment_lines(assessment: Assessment) -> Iterable[str]:
    """The checks as a table, then the verdict."""
    yield f"{'check':<{_NAME_WIDTH}} {'measured':>12} {'':<8} {'allowed':<20} within limits"
    for check in assessment.checks:
        value = "-" if check.value is None else f"{check.value:.2f}"
        yield (
            f"{check.name:<{_NAME_WIDTH}} {value:>12} {check.unit:<8} "
            f"{_limit(*check.limit):<20} {_WORDS[check.passed]}"
        )
    yield f"verdict: {assessment.verdict} (run {assessment.state})"


def _limit(low: float | None, high: float | None) -> str:
    if low is None:
        return "not judged" if high is None else f"up to {high:.2f}"
    return f"from {low:.2f}" if high is None else f"{low:.2f} to {high:.2f}"
