"""The results of a sample so far: its class, the next stress to test, and its specimens."""

from collections.abc import Iterator, Sequence

from msgspec import Struct

from ramphold.control.sample_methods import NextStress
from ramphold.method.crush_class import classify
from ramphold.method.limits import over
from ramphold.sample import RunFinished, SampleRecord, SpecimenRecord
from ramphold.wire import RunRecord
from ramphold_tui.view import formats
from ramphold_tui.view.elements import StyledLine, Tone
from ramphold_tui.view.fines_chart import COUNTS, LEFT_OUT, UNDECIDED, FinesChart, StressRow

HEADER = f"  {'specimen':<11}{'psi':>7}{'fines %':>9}  {'run':<17}result"
_VERDICTS = {"pass": "pass", "fail": "FAIL"}


class ResultRow(Struct, frozen=True, kw_only=True):
    """A run of a specimen, or a specimen without one, in one line under `HEADER`.

    Attributes:
        run: number of the run; None if there is none yet.
        text: the line.
        because: why the specimen counts or does not, and what weakens it.
    """

    run: int | None
    text: str
    because: str


class ResultsView(Struct, frozen=True, kw_only=True):
    """What the results screen shows.

    Attributes:
        title: the sample and its state.
        crush_class: the class in large letters; `--` if there is none.
        words: what the class rests on, and the next stress to test.
        figure: the fines by stress; None before there are any.
        rows: a line for each run.
    """

    title: str
    crush_class: str
    words: tuple[StyledLine, ...]
    figure: FinesChart | None
    rows: tuple[ResultRow, ...]


def results_view(record: SampleRecord, ahead: NextStress | None) -> ResultsView:
    """All that the results screen shows.

    Args:
        record: the sample.
        ahead: the stress that tells most about its class; None if that is unknown.
    """
    one, evidence = record.sample, record.evidence
    figure = _figure(record)
    crush_class = evidence.found.crush_class if evidence else None
    return ResultsView(
        title=f"{one.laboratory_number}  {one.size} {one.material}  {record.state}  "
        f"{one.client_reference}",
        crush_class=crush_class or "--",
        words=tuple(_words(record, ahead)),
        figure=figure if figure.rows else None,
        rows=tuple(row for specimen in record.specimens for row in _rows(specimen)),
    )


def all_runs_view(runs: Sequence[RunRecord]) -> ResultsView:
    """All runs of the bench, newest first, also those without a sample."""
    return ResultsView(
        title="all runs of the bench, newest first",
        crush_class="",
        words=(),
        figure=None,
        rows=tuple(_run_row(run) for run in runs),
    )


def _run_row(run: RunRecord) -> ResultRow:
    verdict = run.assessment.verdict if run.assessment else ""
    said = _VERDICTS.get(verdict, str(run.state))
    psi, day = formats.grouped(run.plan.target_psi), formats.day(run.started_utc_ns)
    return ResultRow(
        run=run.id,
        text=f"  {f'no. {run.specimen}':<9}{psi:>7}{'':>9}  {f'{run.id} {said}':<17}{day}",
        because=f"run {run.id} by {run.operator}: {run.state}, {run.reason or 'goes on'}",
    )


# --- class -------------------------------------------------------------------------------------


def _words(record: SampleRecord, ahead: NextStress | None) -> Iterator[StyledLine]:
    yield StyledLine(_class_so_far(record))
    if ahead is not None:
        yield from _ahead(ahead)
    evidence, limit_pct = record.evidence, record.edition.class_fines_pct or 0.0
    if evidence is None:
        return
    yield from (StyledLine(f"! {finding}", Tone.CAUTION) for finding in evidence.found.findings)
    if points := evidence.deciding_points:
        said = (
            f"{formats.psi(point.stress_psi)} with {point.mean_pct:.2f} %, "
            f"{'over' if over(point.mean_pct, limit_pct) else 'within'} {limit_pct:g} %"
            for point in points
        )
        yield StyledLine(f"rests on {' and '.join(said)}", Tone.FADED)


def _class_so_far(record: SampleRecord) -> str:
    evidence, suggested = record.evidence, record.suggested
    if record.edition.class_fines_pct is None:
        if suggested is None:
            return f"no class and no suggested stress by {record.sample.edition}"
        return (
            f"no class by {record.sample.edition}: it suggests "
            f"{formats.psi(suggested.stress_psi)}, with {suggested.fines_pct:g} % fines at most"
        )
    if evidence is None:
        return "no class yet: no specimen counts so far"
    if evidence.found.crush_class is None:
        return "no class: the lowest stress tested is over the limit"
    sure = record.class_probability
    tail = ", its probability not known yet" if sure is None else f", probability {sure:.2f}"
    return f"class so far{tail}"


def _ahead(ahead: NextStress) -> Iterator[StyledLine]:
    if ahead.stress_psi is None:
        yield StyledLine(f"nothing more to crush: {ahead.reason}", Tone.ACT)
        return
    many = "specimen" if ahead.specimens == 1 else "specimens"
    yield StyledLine(
        f"next: {ahead.specimens} {many} at {formats.psi(ahead.stress_psi)}, {ahead.reason}",
        Tone.ACT,
    )


# --- specimens ---------------------------------------------------------------------------------


def _figure(record: SampleRecord) -> FinesChart:
    limit_pct, suggested = record.edition.class_fines_pct, record.suggested
    if limit_pct is None and suggested is not None:
        limit_pct = suggested.fines_pct
    points = classify(record.counted).points if record.counted else ()
    by_stress = {point.stress_psi: point for point in points}
    rows = []
    for stress_psi in sorted({one.added.target_psi for one in record.specimens}):
        fines = tuple(
            (one.fines_pct, _mark(one))
            for one in record.specimens
            if one.added.target_psi == stress_psi and one.fines_pct is not None
        )
        if fines:
            point = by_stress.get(stress_psi)
            rows.append(StressRow(stress_psi=stress_psi, fines=fines, point=point))
    return FinesChart(rows=tuple(rows), limit_pct=limit_pct)


def _mark(one: SpecimenRecord) -> str:
    if one.counts:
        return COUNTS
    return LEFT_OUT if one.exclusion is not None else UNDECIDED


def _rows(one: SpecimenRecord) -> Iterator[ResultRow]:
    because = "; ".join((one.because, *_together(one.findings)))
    mark = _mark(one) if one.fines_pct is not None else " "
    for run in one.runs[:-1]:
        yield ResultRow(
            run=run.run,
            text=_text(" ", one, "", _run(run), "loaded again after it"),
            because=f"the specimen was loaded again after it; {because}",
        )
    fines = "" if one.fines_pct is None else f"{one.fines_pct:.2f}"
    last = one.run
    result = "counts" if one.counts else one.because
    yield ResultRow(
        run=last.run if last else None,
        text=_text(mark, one, fines, _run(last) if last else "", result),
        because=because,
    )


def _together(findings: Sequence[str]) -> Iterator[str]:
    """The findings, those that begin alike as one: `not ticked off before the crush: a, b`."""
    ends: dict[str, list[str]] = {}
    for finding in findings:
        begin, colon, end = finding.partition(": ")
        ends.setdefault(begin + colon, []).append(end)
    return (begin + ", ".join(several) for begin, several in ends.items())


def _text(mark: str, one: SpecimenRecord, fines: str, run: str, result: str) -> str:
    psi = formats.grouped(one.added.target_psi)
    return f"{mark} {one.added.label:<9}{psi:>7}{fines:>9}  {run:<17}{result}"


def _run(run: RunFinished) -> str:
    return f"{run.run} {_VERDICTS.get(run.verdict or '', run.state)}"
