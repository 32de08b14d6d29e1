"""Samples, from receipt to report.

A sample goes by its number or by its laboratory number.
"""

from typing import Annotated

from msgspec import Meta

from ramphold.control.act import (
    Above0,
    Act,
    ActParams,
    AtLeast0,
    Ledger,
    Method,
    Number,
    PageParams,
    Params,
    Reason,
    Remarks,
    Result,
    SampleKey,
    SignedActParams,
    Text,
    doc,
)
from ramphold.errors import CommandRefused, InputError
from ramphold.method.gravimetric import Material
from ramphold.sample import (
    ControlAnswered,
    NextStep,
    ReportIssued,
    Reviewed,
    Role,
    SampleCorrected,
    SampleReceived,
    SampleRecord,
    SampleState,
    StressPlanned,
    ValueEntered,
    check_review,
    check_sample,
    check_value,
    corrected,
)

_CORRECTABLE = SampleCorrected.__annotations__["field"].__args__


# --- parameters --------------------------------------------------------------------------------


class AddSampleParams(ActParams, frozen=True, kw_only=True):
    """A sample that came in; what is left out comes from the bench's configuration."""

    laboratory_number: Text
    client_reference: Annotated[Text, doc("What the client calls it.")]
    size: Annotated[Text, doc("The size it claims, such as 20/40.")]
    material: Material = Material.SAND
    edition: Annotated[Text | None, doc("Edition of the standard; the bench's by default.")] = None
    use: Annotated[Text | None, doc("fracturing or gravel pack; the bench's by default.")] = None
    role: Role = Role.CLIENT
    tests: Annotated[
        tuple[Text, ...] | None, doc("A test asked for, in order; repeat the option.")
    ] = None
    remarks: Remarks = ""
    charge_tolerance_g: Annotated[
        Above0 | None, doc("How far a charge may be off its target, in g.")
    ] = None
    sieves_net: Annotated[bool, doc("Sieves are weighed as net masses.")] = False
    density_fills: Annotated[
        Annotated[int, Meta(ge=1, le=10)] | None,
        doc("How many fills of the cylinder the bulk density is the mean of."),
    ] = None
    mass_balance: Annotated[bool, doc("What the sieve retains is weighed too.")] = False
    guard_band: Annotated[
        Annotated[float, Meta(ge=0, le=3)] | None,
        doc("How many U a value must keep from its limit to be accepted; 0 is simple acceptance."),
    ] = None
    customer: Annotated[Remarks, doc("Name and contact of the customer.")] = ""
    condition: Annotated[Remarks, doc("Condition of the item at its receipt.")] = ""
    sampling: Annotated[Remarks, doc("Who sampled it, when, where and how, as they say.")] = ""


class SampleParams(Params, frozen=True, kw_only=True):
    """One sample."""

    sample: SampleKey


class OnSampleParams(ActParams, frozen=True, kw_only=True):
    """An act on one sample."""

    sample: SampleKey


class SignedOnSampleParams(SignedActParams, frozen=True, kw_only=True):
    """An act on one sample that a person signs."""

    sample: SampleKey


class CorrectSampleParams(OnSampleParams, frozen=True, kw_only=True):
    """A wrong statement about the sample; `tests` are given with commas between them."""

    field: Text
    value: Remarks
    reason: Annotated[Reason, doc("Why; the report prints it.")]


class PlanStressParams(OnSampleParams, frozen=True, kw_only=True):
    """How many specimens a stress is to have; 0 removes it from the plan."""

    stress_psi: Annotated[AtLeast0, doc("The stress; 0 for blanks, sieved uncrushed.")]
    replicates: Annotated[int, Meta(ge=0, le=50, description="How many; 0 removes the stress.")] = 3


class AnswerControlParams(OnSampleParams, frozen=True, kw_only=True):
    """What was found and done about a signal at a control sample."""

    finding: Annotated[Reason, doc("What was found and done.")]


class EnterValueParams(OnSampleParams, frozen=True, kw_only=True):
    """A property's value, several determinations, or grains like each value of the chart."""

    what: Text
    value: AtLeast0 | None = None
    values: Annotated[
        tuple[AtLeast0, ...], Meta(max_length=50), doc("A determination; repeat the option.")
    ] = ()
    counts: tuple[tuple[Above0, Annotated[int, Meta(ge=0, le=10_000)]], ...] = ()
    corrects: Annotated[Number | None, doc("Number of the wrong record.")] = None
    reason: Annotated[Reason | None, doc("Why it was wrong.")] = None


class ReviewSampleParams(SignedOnSampleParams, frozen=True, kw_only=True):
    """The whole sample was reviewed by someone who wrote none of its records.

    `seen` is the newest record of the sample that the reviewer saw.
    """

    remarks: Remarks = ""
    seen: Annotated[Number | None, doc("The newest record that was seen; refused if it isn't.")] = (
        None
    )


class IssueReportParams(SignedOnSampleParams, frozen=True, kw_only=True):
    """A report goes out; any after the first says what changed."""

    changes: Remarks = ""
    sha256: Annotated[str, Meta(pattern=r"^([0-9a-f]{64})?$")] = ""
    pdf_sha256: Annotated[str, Meta(pattern=r"^([0-9a-f]{64})?$")] = ""


# --- results -----------------------------------------------------------------------------------


class SampleLine(Result, frozen=True, kw_only=True):
    """A sample as it was received, and its state."""

    sample: SampleReceived
    state: SampleState


class Samples(Result, frozen=True, kw_only=True):
    """Samples, newest first."""

    samples: tuple[SampleLine, ...]


class SampleSheet(Result, frozen=True, kw_only=True):
    """A whole sample, and its next steps."""

    record: SampleRecord
    next: tuple[NextStep, ...]


class NextStress(Result, frozen=True, kw_only=True):
    """The stress that says most about the class.

    Attributes:
        stress_psi: where to crush next; None where the class is decided.
        specimens: how many.
        reason: why there, or why no more.
        crush_class: the class so far.
        probability: of that class; None before there is a spread to work it out from.
    """

    stress_psi: float | None
    specimens: int
    reason: str
    crush_class: str | None
    probability: float | None


# --- checks ------------------------------------------------------------------------------------


def _can_be_tested(received: SampleReceived, _: Ledger) -> None:
    check_sample(received)


def _can_be_corrected(change: SampleCorrected, ledger: Ledger) -> None:
    if change.field not in _CORRECTABLE:
        raise InputError(
            f"{change.field!r} can't be corrected: expected one of {', '.join(_CORRECTABLE)}; "
            "a wrong laboratory number needs a new sample"
        )
    check_sample(corrected(ledger.sheet(change.sample).sample, [change]))


def _is_a_value_of_its_property(value: ValueEntered, ledger: Ledger) -> None:
    if (value.corrects is None) != (value.reason is None):
        raise InputError("a correction needs the record that it corrects, and a reason")
    check_value(ledger.sheet(value.sample).sample, value)


def _replaces_what_stands(value: ValueEntered, ledger: Ledger) -> None:
    entered = [one for one in ledger.records(value.sample) if isinstance(one, ValueEntered)]
    replaced = {one.corrects for one in entered}
    stands = [one for one in entered if one.what == value.what and one.record not in replaced]
    if [one.record for one in stands] != ([] if value.corrects is None else [value.corrects]):
        found = f"record {stands[0].record} stands" if stands else "none stands"
        raise CommandRefused(f"{value.what}: {found}: correct that one, with a reason")


def _is_a_control_sample(answer: ControlAnswered, ledger: Ledger) -> None:
    sheet = ledger.sheet(answer.sample)
    if sheet.sample.role is not Role.CONTROL:
        raise CommandRefused(
            f"sample {sheet.sample.laboratory_number} is a client's: expected a control sample"
        )


def _is_reviewed_by_another(review: Reviewed, ledger: Ledger) -> None:
    check_review(ledger.records(review.sample), review.operator, ledger.people())


def _was_reviewed(report: ReportIssued, ledger: Ledger) -> None:
    sheet = ledger.sheet(report.sample)
    if sheet.state is not SampleState.REVIEWED:
        raise CommandRefused(
            f"sample {sheet.sample.laboratory_number} is {sheet.state}: have it reviewed first"
        )
    if report.revision > 1 and not report.changes.strip():
        raise InputError(f"revision {report.revision} supersedes another: expected what changed")


# --- declarations ------------------------------------------------------------------------------

SAMPLES = Method("samples", PageParams, Samples, "the samples, newest first, and their states")
SAMPLE = Method("sample", SampleParams, SampleSheet, "a whole sample, and its next steps")
NEXT_STRESS = Method(
    "next_stress", SampleParams, NextStress, "which stress says most about the class, and why"
)
ADD_SAMPLE = Act(
    "add_sample",
    AddSampleParams,
    SampleReceived,
    "receive a sample",
    checks=(_can_be_tested,),
)
CORRECT_SAMPLE = Act(
    "correct_sample",
    CorrectSampleParams,
    SampleCorrected,
    "correct a statement about a sample, with a reason",
    checks=(_can_be_corrected,),
)
PLAN_STRESS = Act(
    "plan_stress",
    PlanStressParams,
    StressPlanned,
    "plan specimens at a stress",
)
ENTER_VALUE = Act(
    "enter_value",
    EnterValueParams,
    ValueEntered,
    "enter a result, or grains counted",
    checks=(_is_a_value_of_its_property, _replaces_what_stands),
)
ANSWER_CONTROL = Act(
    "answer_control",
    AnswerControlParams,
    ControlAnswered,
    "record what was found and done about a signal of the control chart",
    checks=(_is_a_control_sample,),
)
REVIEW_SAMPLE = Act(
    "review_sample",
    ReviewSampleParams,
    Reviewed,
    "record that a sample was reviewed by someone who wrote none of its records",
    checks=(_is_reviewed_by_another,),
    worked_out=("signed",),
)
ISSUE_REPORT = Act(
    "issue_report",
    IssueReportParams,
    ReportIssued,
    "record that a report goes out, as the next revision",
    checks=(_was_reviewed,),
    worked_out=("revision", "signed"),
)

SAMPLE_METHODS = (
    ADD_SAMPLE, SAMPLES, SAMPLE, CORRECT_SAMPLE, PLAN_STRESS, NEXT_STRESS, ENTER_VALUE,
    ANSWER_CONTROL, REVIEW_SAMPLE, ISSUE_REPORT,
)  # fmt: skip
