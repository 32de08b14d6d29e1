"""Each run: its trace with line and band, and its checks."""

from collections.abc import Iterator, Sequence

from ramphold.report._document import Block, Emphasis, Figure, Group, Paragraph, TableRow, table
from ramphold.report._format import NONE, date, figures, psi, span, together, within
from ramphold.report._report_input import ReportInput
from ramphold.report._run_figure import RunPicture, run_drawing
from ramphold.report._small_runs import PER_PAGE, SmallRun, small_drawing
from ramphold.sample import RunCheck, RunFinished, SpecimenRecord
from ramphold.trust import TrustLevel

_LEGEND = (
    "Load as stress in psi over time in s, by its least and greatest reading in each column. "
    "Dashed: the planned line; tinted: the band of the hold; dotted: the ceiling. Open circles: "
    "doubted readings, which no press can make; those outside the figure are drawn at its edge. "
    "A run is judged on a running median of three, and without them where readings are closer "
    "than 0.25 s."
)
_VERDICTS = {"pass": "passed", "fail": "FAILED", None: "not judged"}


def run_blocks(given: ReportInput) -> Iterator[Block]:
    """Every run of every specimen, including stopped and interrupted ones."""
    runs = [(one, run) for one in given.record.specimens for run in one.runs]
    if not runs:
        yield Paragraph("No specimen was crushed yet.")
        return
    if given.issue.traces:
        yield _overview(runs)
        yield Paragraph(f"{_LEGEND} Below: the deviation from that line in % of the target.")
        for one, run in runs:
            yield _group(given, one, run)
        return
    yield from _small_figures(given, runs)
    yield _overview(runs)


def _small_figures(
    given: ReportInput, runs: Sequence[tuple[SpecimenRecord, RunFinished]]
) -> Iterator[Block]:
    """All runs as small figures, a page full at a time."""
    small = [
        SmallRun(
            title=f"run {run.run}: {psi(run.target_psi)} psi, {_VERDICTS[run.verdict]}",
            picture=RunPicture.of(run, given.trace(run.run)),
        )
        for _, run in runs
    ]
    for first in range(0, len(small), PER_PAGE):
        page = small[first : first + PER_PAGE]
        names = together(str(run.run) for _, run in runs[first : first + PER_PAGE])
        doubts = sum(len(one.picture.doubted) for one in page)
        said = f" Doubted readings here: {doubts}." if doubts else ""
        yield Figure(
            drawing=small_drawing(page),
            name=f"Stress in psi over time of runs {names}, each with its line and band.",
            caption=_LEGEND + said,
        )


def _overview(runs: Sequence[tuple[SpecimenRecord, RunFinished]]) -> Block:
    """Every run in a row, with its checks as measured; what is over its limit is marked."""
    names = list(dict.fromkeys(check.name for _, run in runs for check in run.checks))
    units = {check.name: check for _, run in runs for check in run.checks}
    return table(
        "Runs",
        "run:>0.4 | when, UTC:<1.3 | "
        + "".join(f"{_head(units[name])}:> | " for name in names)
        + "verdict:<0.9",
        (_overview_row(run, names) for _, run in runs),
        note=_limits(runs),
    )


def _overview_row(run: RunFinished, names: Sequence[str]) -> TableRow:
    checks = {check.name: check for check in run.checks}
    bad = frozenset(
        at for at, name in enumerate(names, 2) if name in checks and checks[name].passed is False
    )
    measured = (figures(checks[name].value) if name in checks else NONE for name in names)
    when = date(run.started_utc_ns).removesuffix(" UTC")[5:]
    return TableRow((str(run.run), when, *measured, _VERDICTS[run.verdict]), bad=bad)


def _limits(runs: Sequence[tuple[SpecimenRecord, RunFinished]]) -> str:
    """The limits of the newest run, and the readings and certificates of all."""
    run = runs[-1][1]
    said = "; ".join(f"{check.name} {span(check.low, check.high)}" for check in run.checks)
    certificates = together(dict.fromkeys(c for _, one in runs for c in one.certificates))
    stopped = [
        f"run {one.run} {one.state}, {_VERDICTS[one.verdict]}: {one.reason}"
        for _, one in runs
        if one.state != "complete"
    ]
    return (
        f"Limits, the laboratory's but for rate and hold: {said}. Calibration: "
        f"{certificates or 'not stated'}. {'; '.join(stopped)}{'.' if stopped else ''}"
    )


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
