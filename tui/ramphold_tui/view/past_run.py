"""A past run in words: which it was, and each of its checks."""

from collections.abc import Iterator

from ramphold.core import Check, Verdict
from ramphold.wire import RunRecord
from ramphold_tui.view import formats
from ramphold_tui.view.elements import StyledLine, Tone

_WITHIN = {True: "yes", False: "NO", None: "-"}
# Calibration has no figure if there is no certificate to judge it by.
_NOTHING = "not judged"


def run_title(run: RunRecord, label: str) -> StyledLine:
    """The run and its verdict."""
    verdict = run.assessment.verdict if run.assessment else None
    said = {None: "not judged", Verdict.PASS: "pass", Verdict.FAIL: "FAIL"}[verdict]
    day = formats.day(run.started_utc_ns)
    text = (
        f"run {run.id}  {label}  {formats.psi(run.plan.target_psi)}  {day}  {run.operator}  "
        f"{run.state}: {said}"
    )
    return StyledLine(text, Tone.CALM if verdict is Verdict.PASS else Tone.CAUTION)


def run_rows(run: RunRecord) -> tuple[StyledLine, ...]:
    """Each check with its measured value, its limits, and whether it is within them."""
    return tuple(_rows(run))


def _rows(run: RunRecord) -> Iterator[StyledLine]:
    if run.assessment is None:
        said = "goes on" if run.ended_t_ns is None else f"ended as {run.state}"
        yield StyledLine(
            f"not judged: the run {said}, {run.reason or 'no reason given'}", Tone.CAUTION
        )
        return
    yield StyledLine(
        f"  {'check':<28}{'measured':>8} {'':<8}{'allowed':<19}within limits", Tone.FADED
    )
    yield from map(_check, run.assessment.checks)
    if run.assessment.verdict is Verdict.FAIL:
        failed = [check.name for check in run.assessment.checks if check.passed is False]
        why = ", ".join(failed) or f"the run was {run.state}: {run.reason}"
        yield StyledLine(f"! failed: {why}", Tone.CAUTION)
    else:
        yield StyledLine(f"  within every limit: {run.reason}", Tone.FADED)


def _check(check: Check) -> StyledLine:
    value = "--" if check.value is None else f"{check.value:.2f}"
    failed = check.passed is False
    return StyledLine(
        f"{'!' if failed else ' '} {check.name:<28}{value:>8} {check.unit:<8}"
        f"{_limit(check):<19}{_WITHIN[check.passed]}",
        Tone.CAUTION if failed else Tone.CALM,
    )


def _limit(check: Check) -> str:
    match check.limit:
        case (None, None):
            return _NOTHING
        case (None, high):
            return f"up to {high:.2f}"
        case (low, None):
            return f"from {low:.2f}"
        case (low, high):
            return f"{low:.2f} to {high:.2f}"
