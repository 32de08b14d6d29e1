"""What the numbers rest on: certificates, daily checks, the press, cells and sieves."""

from collections.abc import Iterator

from ramphold.core import WarningKind
from ramphold.method.daily_check import CheckVerdict
from ramphold.method.wear import EQUIPMENT
from ramphold.report._cover import reviewed
from ramphold.report._document import Block, Emphasis, Notice, Paragraph, TableRow, marked, table
from ramphold.report._format import NONE, date, number, together
from ramphold.report._report_input import ReportInput
from ramphold.report._uncertainty import checks_of_run_days
from ramphold.sample import BenchRecord, EquipmentState, MassTaken, SampleRecord, unusual_between

_BY_PRESSURE = """\
Pressure is not force. While the operator pumps, the friction of the ram's seals makes the \
pressure overstate the force on the sand; while the bed relaxes it can understate the change. The \
error is often 1 to 3 % and larger at low load (common practice, no source). A load cell under the \
ram has no such error."""


def bench_blocks(given: ReportInput) -> Iterator[Block]:
    """Instruments of the sample's runs, their checks on those days, and wear as it is now."""
    record, utc_ns = given.record, given.issue.utc_ns
    if by_pressure := [
        one.number for one in record.specimens if one.run is not None and one.run.by_pressure
    ]:
        names = together(f"specimen {number}" for number in by_pressure)
        title = f"Force calculated from oil pressure: {names}"
        yield Notice(title=title, text=_BY_PRESSURE, tone=Emphasis.STRONG)
    if kept := list(_unusual(given)):
        title = "Unusual in the bench's configuration"
        yield Notice(title=title, text=" ".join(kept), tone=Emphasis.STRONG)
    if record.clock_marks:
        text = "; ".join(record.clock_marks)
        yield Notice(title="Times in doubt", text=f"{text}.", tone=Emphasis.STRONG)
    yield _certificates(record)
    yield Paragraph(" ".join(_corrections(record)))
    yield _checks(record)
    yield _warnings(record, utc_ns)
    yield _equipment(record.bench, utc_ns)


def _unusual(given: ReportInput) -> Iterator[str]:
    """Values of the configuration unlike any bench, from the sample's receipt to its review."""
    record, review = given.record, reviewed(given.record)
    until_ns = review.utc_ns if review else given.issue.utc_ns
    for one in unusual_between(record.bench.unusual, record.received.utc_ns, until_ns):
        since = date(one.utc_ns)
        yield f"{one.key} of {one.value}: {one.reason} ({one.operator}, since {since})."


def _certificates(record: SampleRecord) -> Block:
    cited = record.certificates_cited
    held = {one.certificate: one for one in record.bench.certificates}
    rows = [
        TableRow((
            one.certificate, one.instrument, one.serial, one.by, one.date, one.due,
            f"{one.expanded_uncertainty:g} {one.unit}, k = {one.coverage_factor:g}",
            "yes" if one.certificate in cited else "no", one.sha256[:16],
        ))
        for one in held.values()
    ]  # fmt: skip
    rows += [
        TableRow((name, "not on this bench", *[NONE] * 5, "yes", NONE), Emphasis.FAIL)
        for name in sorted(cited - held.keys())
    ]
    return table(
        "Certificates",
        "certificate:<1.1 | instrument:< | serial:<0.8 | by:<1.1 | date:<0.8 | due:<0.8 | "
        "U:<1.1 | cited by a run or a mass:<0.7 | file's hash, first 16:<1.2",
        rows,
        empty="none. The load was not traceably calibrated.",
    )


def _corrections(record: SampleRecord) -> Iterator[str]:
    """By which certificate the captured masses were corrected, and whether it was in force."""
    by_certificate: dict[str | None, list[MassTaken]] = {}
    for mass in record.masses:
        if mass.line is not None:
            by_certificate.setdefault(mass.certificate, []).append(mass)
    bare = by_certificate.pop(None, [])
    for name, masses in by_certificate.items():
        stored = "the displayed values are stored too."
        yield f"Masses corrected by certificate {name}: {len(masses)}; {stored}"
        held = record.bench.certificate(name or "")
        late = [one for one in masses if held is not None and date(one.utc_ns)[:10] > held.due]
        if late:
            yield f"Of these, {len(late)} were taken after its last day."
    if bare:
        yield f"Masses as displayed, without a certificate in force: {len(bare)}."
    if not by_certificate and not bare:
        yield "No mass was captured from the balance."


def _checks(record: SampleRecord) -> Block:
    held = checks_of_run_days(record)
    rows = (
        TableRow(
            (one.rule, number(one.measured, ".6g"), number(one.expected, ".6g"),
             number(one.off_pct, "+.3f"), one.verdict, one.operator, date(one.utc_ns)),
            marked(fail=one.verdict == CheckVerdict.FAILED),
        )
        for one in held
    )  # fmt: skip
    return table(
        "Daily checks in the days of the runs",
        "check:< | read:> | expected:> | off, %:> | verdict:<0.8 | by:<0.7 | when:<1.4",
        rows,
        note=" ".join(
            f"{one.rule.capitalize()} of {date(one.utc_ns)} applied over its limit by "
            f"{one.operator}: {one.anyway}."
            for one in held
            if one.anyway is not None
        ),
    )


def _warnings(record: SampleRecord, utc_ns: int) -> Block:
    """Loads on the press outside a run, which may have damaged what the next run used."""
    review = reviewed(record)
    received_ns, until_ns = record.received.utc_ns, review.utc_ns if review else utc_ns
    until = "its review" if review else "this report"
    rows = (
        TableRow(
            (date(one.utc_ns), one.warning, one.name, number(one.load_lbf, ".0f"),
             number(one.limit_lbf, ".0f"), number(one.over_pct, ".1f"), one.seen_by or "nobody"),
            marked(fail=one.warning == WarningKind.OVER_RATING),
        )
        for one in record.bench.warnings
        if received_ns <= one.utc_ns <= until_ns
    )  # fmt: skip
    return table(
        f"Warnings of the press outside a run, from the sample's receipt to {until}",
        "when:<1.4 | warning:< | of:<0.7 | greatest load, lbf:> | limit, lbf:> | over it, %:> | "
        "seen by:<0.8",
        rows,
        note="Earlier and later warnings are in the record of the bench.",
    )


def _equipment(bench: BenchRecord, utc_ns: int) -> Block:
    if not bench.equipment:
        return Paragraph("Cells, sieves and instruments: no check of them is on record.")
    return table(
        "Cells, sieves and instruments, as they are at the date of this report",
        "equipment:<1.3 | checked:<1.2 | measured:> | as made:> | uses since:>0.7 | "
        "certificate, finding:<2 | "
        "due:<1.6",
        (_equipment_row(one, utc_ns) for one in bench.equipment),
    )


def _equipment_row(one: EquipmentState, utc_ns: int) -> TableRow:
    check, wear = one.check, one.wear(utc_ns)
    unit = EQUIPMENT[check.equipment].unit
    due = wear.due if wear else ()
    said = (check.certificate, check.finding, "" if check.usable else "NOT USABLE")
    cells = (
        check.title, f"{date(check.utc_ns)[:10]}, {check.operator}",
        NONE if check.measured is None else f"{check.measured:g} {unit}",
        NONE if check.nominal is None else f"{check.nominal:g} {unit}",
        str(one.uses), "; ".join(part for part in said if part),
        together(due, "no"),
    )  # fmt: skip
    return TableRow(cells, marked(fail=bool(due) or not check.usable))
