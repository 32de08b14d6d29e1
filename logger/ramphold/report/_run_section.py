"""Each run: its trace with line and band, and its checks."""

from collections.abc import Iterator

from ramphold.report._document import Block, Emphasis, Figure, Group, Paragraph, TableRow, table
from ramphold.report._format import NONE, date, figures, psi, span, together, within
from ramphold.report._report_input import ReportInput
from ramphold.report._run_figure import run_drawing
from ramphold.sample import RunCheck, RunFinished, SpecimenRecord
from ramphold.trust import TrustLevel

_VERDICTS = {"pass": "passed", "fail": "FAILED", None: "not judged"}


def run_blocks(given: ReportInput) -> Iterator[Block]:
    """Every run of every specimen, including stopped and interrupted ones."""
    runs = [(one, run) for one in given.record.specimens for run in one.runs]
    if not runs:
        yield Paragraph("No specimen was crushed yet.")
        return
    yield Paragraph(
        "The load as read, unfiltered, by its least and greatest value in each column of the "
        "figure. Dashed: the planned line; tinted: the band of the hold; dotted: the ceiling. "
        "Below: the deviation from that line in % of the target, cut off at 5 %. A run is judged "
        "on a running median of three. The limits are the laboratory's; the standard defines rate "
        "and hold only."
    )
    for one, run in runs:
        yield _group(given, one, run)


def _group(given: ReportInput, one: SpecimenRecord, run: RunFinished) -> Group:
    whose = f"specimen {one.number} ({one.added.label}) at {psi(run.target_psi)} psi"
    return Group(
        title=f"Run {run.run}: {whose}, {run.state}, {_VERDICTS[run.verdict]}",
        blocks=tuple(_blocks(given, one, run)),
    )


def _blocks(given: ReportInput, one: SpecimenRecord, run: RunFinished) -> Iterator[Block]:
    place = " ".join(part for part in (one.added.press, one.added.cell) if part)
    yield Paragraph(
        f"{date(run.started_utc_ns)}, {run.operator}{', on ' + place if place else ''}; "
        f"bore {run.bore_in:g} in, {run.rate_psi_min:g} psi/min, hold {run.hold_s:g} s, ceiling "
        f"{run.ceiling_lbf:.0f} lbf, rated {run.rating_lbf:.0f} lbf; {run.readings} readings; "
        f"calibration {together(run.certificates, 'not stated')}. Ended: {run.reason}."
    )
    if doubts := _doubts(run):
        yield Paragraph(doubts)
    yield Figure(
        drawing=run_drawing(run, given.trace(run.run)),
        name=f"Load of run {run.run} over time, with its line and band.",
    )
    if run.checks:
        yield _checks(run.checks)


def _doubts(run: RunFinished) -> str:
    """What could not be trusted at its start, and why it was started all the same."""
    parts = [
        f"{one.name} {one.level} ({one.text})"
        for one in run.trust
        if one.level is not TrustLevel.WELL
    ]
    said = f"At its start: {'; '.join(parts)}." if parts else ""
    if run.anyway:
        said += f" It was started although it might not be kept: {run.anyway}."
    return said.strip()


def _checks(checks: tuple[RunCheck, ...]) -> Block:
    failed = frozenset(at for at, check in enumerate(checks, 1) if check.passed is False)
    return table(
        "",
        " | ".join((":<0.7", *(f"{_head(check)}:>" for check in checks))),
        (
            ("measured", *(figures(check.value) for check in checks)),
            TableRow(
                ("allowed", *(span(check.low, check.high) for check in checks)), Emphasis.FAINT
            ),
            TableRow(("", *(within(check.passed) for check in checks)), bad=failed),
        ),
    )


def _head(check: RunCheck) -> str:
    return f"{check.name}, {check.unit}" if check.unit and check.unit != NONE else check.name
