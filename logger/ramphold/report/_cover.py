"""The first page: the result, who is responsible for it, and notices."""

from collections.abc import Iterator

from ramphold.keys.person_signature import PersonSignature, signer_text
from ramphold.method.limits import over
from ramphold.method.uncertainty import stated
from ramphold.report._decision_section import decided_class
from ramphold.report._document import CoverResult, Emphasis, Facts, Notice
from ramphold.report._format import NONE, NOT_RECORDED, date, mpa, number, period, psi, together
from ramphold.report._report_input import ReportInput
from ramphold.sample import Reviewed, SampleRecord, SampleState

#: What the result is not, on the first page.
CAUTION = (
    "A crush class is an index for comparing proppants, not the conductivity of a pack in a "
    "fracture. The cautions in the annex are part of this report."
)

_SURE = 0.99


def revision_text(given: ReportInput) -> str:
    """The revision, in words."""
    revision = given.issue.revision
    text = "Draft, not issued" if revision is None else f"Revision {revision}"
    # It stands at the foot of each page.
    return f"DISPUTED · {text}" if given.issue.disputed else text


def headline(given: ReportInput) -> CoverResult:
    """The class, or what replaces it."""
    evidence = given.evidence
    if evidence is None:
        return CoverResult(label="Crush resistance", value=NONE, lines=("no specimen counts yet",))
    if given.record.edition.class_fines_pct is None:
        return _against_limit(given)
    found, accepted = evidence.found, decided_class(given)
    lines = [_mean_line(given, point.stress_psi) for point in evidence.deciding_points]
    if accepted != found.crush_class:
        lines.append(
            f"by the means alone {found.crush_class or 'no class'}; the decision rule accepts a "
            f"stress only {given.record.sample.guard_band:g} U under the limit"
        )
    if evidence.spread is not None:
        sure = evidence.probability(found.crush_class)
        said = f"more than {_SURE:g}" if sure > _SURE else f"{sure:.2f}"
        lines.append(
            f"probability that the true class is {found.crush_class or 'none'}, among the stresses "
            f"tested: {said}"
        )
    crossing = given.curve.crossing(given.limit_pct or 0.0) if given.curve else None
    if crossing is not None and crossing.low_psi is not None and crossing.high_psi is not None:
        value, reach = stated(crossing.stress_psi, (crossing.high_psi - crossing.low_psi) / 2)
        how = " (extrapolated)" if crossing.extrapolated else ""
        lines.append(f"{given.limit_pct:g} % fines by the curve at {value} ± {reach} psi{how}")
    return CoverResult(label="Crush class", value=accepted or "no class", lines=tuple(lines))


def _mean_line(given: ReportInput, stress_psi: float) -> str:
    said = f"{mean_text(given, stress_psi)} mean fines at {psi(stress_psi)}\u00a0psi"
    return f"{said} ({mpa(stress_psi)}\u00a0MPa)"


def mean_text(given: ReportInput, stress_psi: float) -> str:
    """The mean at a stress, with its expanded uncertainty if it is known."""
    for one in given.budgets:
        if one.stress_psi == stress_psi and one.fines is not None:
            value, reach = stated(one.fines.value, one.fines.expanded)
            return f"{value} ± {reach} %"
    means = {
        p.stress_psi: p.mean_pct for p in (given.evidence.found.points if given.evidence else ())
    }
    return f"{number(means.get(stress_psi), '.1f')} %"


def _against_limit(given: ReportInput) -> CoverResult:
    """For an edition without classes: the fines at the suggested stress."""
    record, evidence = given.record, given.evidence
    points = evidence.found.points if evidence else ()
    suggested = record.suggested
    for point in points:
        if suggested is not None and point.stress_psi == suggested.stress_psi:
            word = "over" if over(point.mean_pct, suggested.fines_pct) else "within"
            lines = (
                f"mean fines at the suggested {psi(point.stress_psi)} psi",
                f"{word} the {suggested.fines_pct:g} % of {record.edition.name}",
            )
            return CoverResult(
                label="Crush resistance", value=mean_text(given, point.stress_psi), lines=lines
            )
    means = tuple(_mean_line(given, point.stress_psi) for point in points)
    return CoverResult(label="Crush resistance", value=NONE, lines=means)


def cover_facts(given: ReportInput) -> Facts:
    """The customer, the item, the dates and the people, beside the result."""
    record, issue = given.record, given.issue
    sample = record.sample
    started = [run.started_utc_ns for one in record.specimens for run in one.runs]
    review = reviewed(record)
    return Facts((
        ("Customer", sample.customer or NOT_RECORDED),
        ("Customer's reference*", sample.client_reference or NOT_RECORDED),
        ("Item*", f"{sample.material}, {sample.size}, for {sample.use}"),
        ("Sampling*", sample.sampling or NOT_RECORDED),
        ("Condition on receipt", sample.condition or NOT_RECORDED),
        ("Received", f"{date(sample.utc_ns)} by {sample.operator}"),
        ("Tested", _tested(record)),
        ("Crushed", period(min(started), max(started)) if started else NONE),
        ("Where", _where(record)),
        ("Method", record.edition.name),
        ("Tested by", together(record.operators, NONE)),
        ("Reviewed by", _by(review.operator, review.signed, review.utc_ns) if review
         else "not reviewed"),
        ("Issued by", _by(issue.by, issue.signer, issue.utc_ns) if issue.by else "not issued"),
    ))  # fmt: skip


def _by(initials: str, signed: PersonSignature | None, utc_ns: int) -> str:
    return f"{signer_text(initials, signed)}, {date(utc_ns)}"


def _tested(record: SampleRecord) -> str:
    """From the first mass to the last."""
    taken = [one.utc_ns for one in record.masses]
    return period(min(taken), max(taken)) if taken else NONE


def _where(record: SampleRecord) -> str:
    presses = dict.fromkeys(one.added.press for one in record.specimens if one.added.press)
    return f"the laboratory above, press {together(presses)}" if presses else "the laboratory above"


def reviewed(record: SampleRecord) -> Reviewed | None:
    """The valid review: by a person who made no record of the sample, with none made since."""
    if record.state not in {SampleState.REVIEWED, SampleState.REPORTED} or not record.reviews:
        return None
    review = record.reviews[-1]
    own = {name.strip().lower() for name in record.operators}
    return None if review.operator.strip().lower() in own else review


def notices(given: ReportInput) -> Iterator[Notice]:
    """The notices at the top of the report."""
    record, issue = given.record, given.issue
    if given.tampering:
        yield Notice(
            title="The record was changed outside the program",
            text="Do not rely on this report. " + "; ".join(given.tampering) + ".",
            tone=Emphasis.FAIL,
        )
    for title, text in issue.notes:
        tone = Emphasis.FAIL if issue.disputed else Emphasis.PLAIN
        yield Notice(title=title, text=text, tone=tone)
    if issue.revision is None:
        text = "For inspection only. It is not a result and must not leave the laboratory."
        yield Notice(title="Draft, not issued", text=text)
    before = [one for one in record.reports if one.revision < (issue.revision or 0)]
    if before:
        old = before[-1]
        what = f"It supersedes revision {old.revision} of {date(old.utc_ns)}, which is void."
        yield Notice(
            title=f"Revision {issue.revision}",
            text=f"{what} What changed: {issue.changes or 'not stated'}",
        )
    if reviewed(record) is None:
        text = "Only those who tested this sample have looked at it."
        yield Notice(title="Not reviewed", text=text)
