"""The record of an ended run, made from its rows."""

from typing import Any

from ramphold.core import Check, StateChanged
from ramphold.sample import RunCheck, RunFinished, StateReached
from ramphold.store._connection import Statements
from ramphold.store._readings import read_trace
from ramphold.wire import RunRecord, RunRows, decode_event
from ramphold.wire.packed_trace import packed_sha256, trace_sha256


def run_finished(connection: Statements, run: RunRecord, sample: int | None) -> RunFinished:
    """The record of an ended run of a sample, from its rows."""
    plan, assessment = run.plan, run.assessment
    trace = read_trace(connection, run.id)
    # The later ones win: `hold_s` is the planned time; the measured one is `held_s`.
    shared = _shared(assessment) | _shared(plan) | _shared(run)
    if assessment is not None:
        shared |= {"held_s": assessment.hold_s, "checks": tuple(map(_check, assessment.checks))}
    ended_utc_ns = run.ended_utc_ns or run.started_utc_ns
    return RunFinished(
        **shared
        | {
            "sample": sample,
            "utc_ns": ended_utc_ns,
            "run": run.id,
            "ended_utc_ns": ended_utc_ns,
            "band_pct": plan.rules.band_pct,
            "verdict": None if assessment is None else str(assessment.verdict),
            "moments": _moments(connection, run),
            "certificates": _certificates(run),
            "by_pressure": bool(plan.calibration and plan.calibration.by_pressure),
            "readings": len(trace),
            "trace_sha256": trace_sha256(trace),
            "packed_sha256": packed_sha256(trace),
            "record_sha256": run_rows(connection, run.id).sha256(),
        }
    )


def run_rows(connection: Statements, run: int) -> RunRows:
    """Plan, times, commands, events and assessment of an ended run, as they are kept."""
    ((plan, started_t_ns, ended_t_ns, assessment),) = connection.rows(
        "SELECT plan, started_t_ns, ended_t_ns, ifnull(assessment, '') FROM runs WHERE id = ?",
        (run,),
    )
    return RunRows(
        plan=plan,
        started_t_ns=started_t_ns,
        ended_t_ns=ended_t_ns,
        commands=tuple(
            connection.rows(
                "SELECT after_reading, t_ns, body FROM commands WHERE run = ? ORDER BY seq", (run,)
            )
        ),
        events=tuple(
            connection.rows(
                "SELECT t_ns, kind, body FROM events WHERE run = ? ORDER BY seq", (run,)
            )
        ),
        assessment=assessment,
    )


def _shared(source: object) -> dict[str, Any]:
    """The fields that the record shares with a plan, a run or an assessment, by name."""
    names = RunFinished.__struct_fields__
    return {name: getattr(source, name) for name in names if hasattr(source, name)}


def _check(check: Check) -> RunCheck:
    low, high = check.limit
    return RunCheck(
        name=check.name, value=check.value, unit=check.unit, low=low, high=high, passed=check.passed
    )


def _certificates(run: RunRecord) -> tuple[str, ...]:
    calibration = run.plan.calibration
    return (calibration.certificate,) if calibration and calibration.certificate else ()


def _moments(connection: Statements, run: RunRecord) -> tuple[StateReached, ...]:
    rows = connection.rows(
        "SELECT body FROM events WHERE run = ? AND kind = 'StateChanged' ORDER BY seq", (run.id,)
    )
    events = [decode_event(body.encode()) for (body,) in rows]
    return tuple(
        StateReached(
            t_s=(event.since_ns - run.started_t_ns) / 1e9,
            state=event.after,
            reason=event.reason,
        )
        for event in events
        if isinstance(event, StateChanged)
    )
