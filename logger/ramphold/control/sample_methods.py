"""The part of the table that is about samples: each step of the worksheet, and the bench's own.

A sample goes by its number or by its laboratory number; whoever acts gives initials.
"""

from typing import Annotated

from msgspec import Meta

from ramphold.control._basis import (
    Above0,
    Initials,
    Method,
    NoParams,
    Number,
    Params,
    Reason,
    Result,
    Text,
)
from ramphold.method.control_chart import Chart, Signal
from ramphold.method.gravimetric import Material
from ramphold.sample import (
    BenchRecord,
    ControlPoint,
    CylinderCalibrated,
    CylinderChosen,
    DailyCheckMade,
    Equipment,
    EquipmentChecked,
    ExclusionDecided,
    Load,
    MassTaken,
    NextStep,
    ReportIssued,
    Reviewed,
    Role,
    RunDecided,
    SampleCorrected,
    SampleReceived,
    SampleRecord,
    SampleState,
    ShakingStarted,
    StressPlanned,
    Tick,
    Ticked,
    ValueEntered,
)

AtLeast0 = Annotated[float, Meta(ge=0)]
Finite = Annotated[float, Meta(ge=-1e15, le=1e15)]
Free = Annotated[str, Meta(max_length=1000)]
#: A sample by its number, or by its laboratory number.
Which = Number | Text


class _Act(Params, frozen=True, kw_only=True):
    operator: Initials


class _OnSample(_Act, frozen=True, kw_only=True):
    sample: Which


class _OnSpecimen(_Act, frozen=True, kw_only=True):
    specimen: Number


# --- parameters --------------------------------------------------------------------------------


class NewSample(_Act, frozen=True, kw_only=True):
    """A sample that came in; what is left out comes from the bench's configuration."""

    laboratory_number: Text
    client_reference: Text
    size: Text
    material: Material = Material.SAND
    edition: Text | None = None
    use: Text | None = None
    role: Role = Role.CLIENT
    tests: tuple[Text, ...] | None = None
    remarks: Free = ""
    charge_tolerance_g: Above0 | None = None
    sieves_net: bool = False
    mass_balance: bool = False


class SampleWanted(Params, frozen=True, kw_only=True):
    """One sample."""

    sample: Which


class CorrectSample(_OnSample, frozen=True, kw_only=True):
    """A statement about the sample that was wrong; `tests` are given with commas between them."""

    field: Text
    value: Free
    reason: Reason


class PlanStress(_OnSample, frozen=True, kw_only=True):
    """How many specimens a stress is to have; 0 takes it off the plan."""

    stress_psi: Above0
    replicates: Annotated[int, Meta(ge=0, le=50)] = 3


class Weigh(_Act, frozen=True, kw_only=True):
    """What stands on the balance, or was weighed elsewhere and is entered as `mass_g`.

    `sample` is left out for a specimen, whose sample is known, and for a density cylinder.
    `anyway` is a person's reason to keep a charge off its target, or a mass that has not changed
    since the last one was kept; it stands in the record.
    """

    test: Text
    item: Text
    load: Load = Load.NET
    sample: Which | None = None
    specimen: Number | None = None
    mass_g: AtLeast0 | None = None
    anyway: Reason | None = None


class CorrectMass(_Act, frozen=True, kw_only=True):
    """A mass that was wrong: the right one in g, or None to take it from the balance again.

    `anyway` as in `Weigh`.
    """

    mass: Number
    reason: Reason
    mass_g: AtLeast0 | None = None
    anyway: Reason | None = None


class ChooseCylinder(_OnSample, frozen=True, kw_only=True):
    """The density cylinder that the sample is measured with."""

    cylinder: Text


class CalibrateCylinder(_Act, frozen=True, kw_only=True):
    """A cylinder has been weighed empty and full of water at a temperature in C."""

    cylinder: Text
    temp_c: Annotated[float, Meta(ge=0, le=40)]


class SeeTo(_OnSpecimen, frozen=True, kw_only=True):
    """Something was seen to before the press, or was not after all."""

    what: Tick
    done: bool = True


class StartShaking(_Act, frozen=True, kw_only=True):
    """The shaker runs: for a sample's sieve analysis, or for a specimen after its crush."""

    sample: Which | None = None
    specimen: Number | None = None
    planned_s: Above0 | None = None


class EnterValue(_OnSample, frozen=True, kw_only=True):
    """A property's value, or how many grains were like each value of the chart."""

    what: Text
    value: AtLeast0 | None = None
    counts: tuple[tuple[Above0, Annotated[int, Meta(ge=0, le=10_000)]], ...] = ()
    corrects: Number | None = None
    reason: Reason | None = None


class DecideExclusion(_OnSpecimen, frozen=True, kw_only=True):
    """Leave a specimen out of the result, or take it in again, and why."""

    excluded: bool
    reason: Reason


class DecideRun(_Act, frozen=True, kw_only=True):
    """Whether a run counts whatever its assessment says, and why."""

    run: Number
    counts: bool
    reason: Reason


class Review(_OnSample, frozen=True, kw_only=True):
    """The whole sample was looked over by somebody who wrote nothing of it."""

    remarks: Free = ""


class IssueReport(_OnSample, frozen=True, kw_only=True):
    """A report goes out; one after the first says what changed."""

    changes: Free = ""
    sha256: Annotated[str, Meta(pattern=r"^([0-9a-f]{64})?$")] = ""


class MakeDailyCheck(_Act, frozen=True, kw_only=True):
    """An instrument against something known, by a rule of `method.daily_check`."""

    rule: Text
    measured: Finite
    expected: Finite
    base: Above0


class CheckEquipment(_Act, frozen=True, kw_only=True):
    """A cell or a sieve was measured or looked at; bore in inches, opening in mm."""

    equipment: Equipment
    name: Text
    finding: Reason
    measured: Above0 | None = None
    nominal: Above0 | None = None
    usable: bool = True
    new: bool = False


class ControlWanted(Params, frozen=True, kw_only=True):
    """Which results of the control sand; what is left out is not told apart."""

    stress_psi: Above0
    material: Text | None = None
    press: Text | None = None
    cell: Text | None = None
    operator: Initials | None = None


# --- results -----------------------------------------------------------------------------------


class SampleLine(Result, frozen=True, kw_only=True):
    """A sample as it was received, and where it stands."""

    sample: SampleReceived
    state: SampleState


class Samples(Result, frozen=True, kw_only=True):
    """Samples, newest first."""

    samples: tuple[SampleLine, ...]


class SampleSheet(Result, frozen=True, kw_only=True):
    """A whole sample, and what is to be done next."""

    record: SampleRecord
    next: tuple[NextStep, ...]


class NextStress(Result, frozen=True, kw_only=True):
    """The stress that tells most about the class; None where it is decided.

    Attributes:
        stress_psi: where to crush next.
        specimens: how many.
        reason: why there, or why no more.
        crush_class: the class so far.
        probability: of that class; None before there is a spread to tell by.
    """

    stress_psi: float | None
    specimens: int
    reason: str
    crush_class: str | None
    probability: float | None


class ControlSeries(Result, frozen=True, kw_only=True):
    """The control sand's fines in the order of time, with limits by themselves and what speaks.

    `chart` is None before there are two results.
    """

    points: tuple[ControlPoint, ...]
    chart: Chart | None
    signals: tuple[Signal, ...]


class PageOfSamples(Params, frozen=True, kw_only=True):
    """The newest samples, or those before a number already seen."""

    before: Number | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


# --- the table ---------------------------------------------------------------------------------

ADD_SAMPLE = Method("add_sample", NewSample, SampleReceived, "a sample came in")
SAMPLES = Method("samples", PageOfSamples, Samples, "samples, newest first, and where they stand")
SAMPLE = Method("sample", SampleWanted, SampleSheet, "a whole sample, and its next steps")
CORRECT_SAMPLE = Method(
    "correct_sample", CorrectSample, SampleCorrected, "right a statement about a sample"
)
PLAN_STRESS = Method("plan_stress", PlanStress, StressPlanned, "plan specimens at a stress")
NEXT_STRESS = Method("next_stress", SampleWanted, NextStress, "which stress tells most, and why")
WEIGH = Method("weigh", Weigh, MassTaken, "keep the mass on the balance, at any place")
CORRECT_MASS = Method(
    "correct_mass", CorrectMass, MassTaken, "replace a mass of any place, with a reason"
)
CHOOSE_CYLINDER = Method("choose_cylinder", ChooseCylinder, CylinderChosen, "measure density so")
CALIBRATE_CYLINDER = Method(
    "calibrate_cylinder", CalibrateCylinder, CylinderCalibrated, "a cylinder's volume by water"
)
SEE_TO = Method("see_to", SeeTo, Ticked, "tick what was seen to before the press")
START_SHAKING = Method("start_shaking", StartShaking, ShakingStarted, "the shaker runs from now")
ENTER_VALUE = Method("enter_value", EnterValue, ValueEntered, "a result that a person enters")
DECIDE_EXCLUSION = Method(
    "decide_exclusion", DecideExclusion, ExclusionDecided, "leave a specimen out, or take it in"
)
DECIDE_RUN = Method("decide_run", DecideRun, RunDecided, "whether a run counts, by a person")
REVIEW_SAMPLE = Method("review_sample", Review, Reviewed, "a sample was looked over")
ISSUE_REPORT = Method("issue_report", IssueReport, ReportIssued, "a report goes out")
BENCH_RECORD = Method("bench_record", NoParams, BenchRecord, "certificates, checks and wear")
MAKE_DAILY_CHECK = Method(
    "make_daily_check", MakeDailyCheck, DailyCheckMade, "an instrument against something known"
)
CHECK_EQUIPMENT = Method(
    "check_equipment", CheckEquipment, EquipmentChecked, "a cell or a sieve was looked at"
)
CONTROL_CHART = Method(
    "control_chart", ControlWanted, ControlSeries, "the control sand's fines, with limits"
)

SAMPLE_METHODS = (
    ADD_SAMPLE, SAMPLES, SAMPLE, CORRECT_SAMPLE, PLAN_STRESS, NEXT_STRESS, WEIGH, CORRECT_MASS,
    CHOOSE_CYLINDER, CALIBRATE_CYLINDER, SEE_TO, START_SHAKING, ENTER_VALUE, DECIDE_EXCLUSION,
    DECIDE_RUN, REVIEW_SAMPLE, ISSUE_REPORT, BENCH_RECORD, MAKE_DAILY_CHECK, CHECK_EQUIPMENT,
    CONTROL_CHART,
)  # fmt: skip
