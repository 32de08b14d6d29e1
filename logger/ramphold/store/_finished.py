"""A run that has ended, as the record of it in its sample's chain says it."""

from msgspec import structs

from ramphold.core import StateChanged
from ramphold.sample import Moment, RunCheck, RunFinished
from ramphold.store._connection import Statements
from ramphold.store._readings import read_readings
from ramphold.wire import RunRecord, RunRows, decode_event, packed_sha256, trace_sha256

__all__ = ["finished_record", "run_rows"]

_FIGURES = (
    "peak_lbf",
    "ramp_rate_psi_min",
    "ramp_rms_psi",
    "overshoot_pct",
    "hold_mean_psi",
    "out_of_band_s",
    "longest_gap_s",
)


def finished_record(connection: Statements, run: RunRecord, sample: int | None) -> RunFinished:
    """The record of an ended run of a sample, from the rows that stand."""
    plan, assessment = run.plan, run.assessment
    readings = read_readings(connection, run.id)
    measured = {}
    if assessment is not None:
        figures = structs.asdict(assessment)
        measured = {name: figures[name] for name in _FIGURES} | {"held_s": assessment.hold_s}
    return RunFinished(
        sample=sample,
        operator=run.operator,
        utc_ns=run.ended_utc_ns or run.started_utc_ns,
        run=run.id,
        specimen=run.specimen,
        state=run.state,
        reason=run.reason,
        started_utc_ns=run.started_utc_ns,
        ended_utc_ns=run.ended_utc_ns or run.started_utc_ns,
        target_psi=plan.target_psi,
        bore_in=plan.bore_in,
        rate_psi_min=plan.rate_psi_min,
        hold_s=plan.hold_s,
        ceiling_lbf=plan.ceiling_lbf,
        rating_lbf=plan.rating_lbf,
        band_pct=plan.rules.band_pct,
        verdict=None if assessment is None else str(assessment.verdict),
        checks=_checks(run),
        moments=_moments(connection, run),
        certificates=_certificates(run),
        by_pressure=bool(plan.calibration and plan.calibration.by_pressure),
        readings=len(readings),
        trace_sha256=trace_sha256(readings),
        packed_sha256=packed_sha256(readings),
        record_sha256=run_rows(connection, run.id).sha256(),
        **measured,
    )


def run_rows(connection: Statements, run: int) -> RunRows:
    """Plan, times, commands, events and assessment of an ended run as they are kept."""
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


def _checks(run: RunRecord) -> tuple[RunCheck, ...]:
    if run.assessment is None:
        return ()
    return tuple(
        RunCheck(
            name=check.name,
            value=check.value,
            unit=check.unit,
            low=check.limit[0],
            high=check.limit[1],
            passed=check.passed,
        )
        for check in run.assessment.checks
    )


def _certificates(run: RunRecord) -> tuple[str, ...]:
    calibration = run.plan.calibration
    return (calibration.certificate,) if calibration and calibration.certificate else ()


def _moments(connection: Statements, run: RunRecord) -> tuple[Moment, ...]:
    rows = connection.rows(
        "SELECT body FROM events WHERE run = ? AND kind = 'StateChanged' ORDER BY seq", (run.id,)
    )
    events = [decode_event(body.encode()) for (body,) in rows]
    return tuple(
        Moment(
            t_s=(event.since_ns - run.started_t_ns) / 1e9,
            state=event.after,
            reason=event.reason,
        )
        for event in events
        if isinstance(event, StateChanged)
    )
