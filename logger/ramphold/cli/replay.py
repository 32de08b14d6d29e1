"""`ramphold replay`: a recorded load, fed through the same tracker as a live one."""

import statistics
from itertools import pairwise
from pathlib import Path

import click
import msgspec
from msgspec import structs

from ramphold import units
from ramphold.cli._common import QuantityType, json_option, show
from ramphold.cli._csv_table import CsvRow, read_table
from ramphold.core import Assessment, Event, Reading, Rules, RunPlan, Tracker, Verdict
from ramphold.text import assessment_lines, event_line

# A file may be sampled slower than an instrument reads; its own pace says what is a gap.
_STALE_PERIODS = 10
# As ns it fits 64 bits, also the difference of two.
_FURTHEST_S = 4e9


@click.command("replay")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--target", required=True, type=QuantityType(units.STRESS), help="Target stress.")
@click.option("--bore", default="2in", type=QuantityType(units.LENGTH), show_default=True)
@click.option(
    "--rate",
    default="2000",
    type=QuantityType(units.RATE, bare=True),
    show_default=True,
    help="Planned rate; a bare number is psi/min.",
)
@click.option(
    "--hold",
    default="120",
    type=QuantityType(units.TIME, bare=True),
    show_default=True,
    help="Planned hold; a bare number is seconds.",
)
@json_option
def command(
    file: Path, *, target: float, bore: float, rate: float, hold: float, as_json: bool
) -> None:
    """Follow the run in FILE (CSV with t_s,force_lbf) and judge it.

    Exit status 0 when the verdict is pass, 1 when it is fail.
    """
    RunPlan(target_psi=target, bore_in=bore, rate_psi_min=rate, hold_s=hold)
    readings = _readings(read_table(str(file), ("t_s", "force_lbf")))
    plan = RunPlan(
        target_psi=target,
        bore_in=bore,
        rate_psi_min=rate,
        hold_s=hold,
        rules=Rules(stale_s=max(Rules().stale_s, _STALE_PERIODS * _period_s(readings))),
        cued=False,
    )
    events, assessment = _follow(plan, readings)
    text = [line for event in events if (line := event_line(event, readings[0].t_ns))]
    text += ["", *assessment_lines(assessment)]
    show(_result(events, assessment), "\n".join(text), as_json=as_json)
    raise SystemExit(0 if assessment.verdict is Verdict.PASS else 1)


def _readings(rows: list[CsvRow]) -> list[Reading]:
    readings: list[Reading] = []
    for row in rows:
        t_ns = round(row.number("t_s", minimum=-_FURTHEST_S, maximum=_FURTHEST_S) * 1e9)
        if readings and t_ns < readings[-1].t_ns:
            raise row.error("t_s", "the time goes backwards: expected it to rise from row to row")
        readings.append(Reading(t_ns=t_ns, force_lbf=row.number("force_lbf")))
    return readings


def _period_s(readings: list[Reading]) -> float:
    steps_ns = [after.t_ns - before.t_ns for before, after in pairwise(readings)]
    return statistics.median(steps_ns) / 1e9 if steps_ns else 0.0


def _follow(plan: RunPlan, readings: list[Reading]) -> tuple[list[Event], Assessment]:
    tracker = Tracker(plan, t_ns=readings[0].t_ns)
    events = [event for reading in readings for event in tracker.feed(reading)]
    events += tracker.end_of_record()
    return events, tracker.assess()


def _result(events: list[Event], assessment: Assessment) -> dict[str, object]:
    figures = structs.asdict(assessment)
    return figures | {
        "assessment": figures.pop("checks"),
        "events": [{"type": type(event).__name__} | msgspec.to_builtins(event) for event in events],
    }
