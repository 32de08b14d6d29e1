"""The bench: certificates, daily checks, cylinders, wear, control sand, trial of the press."""

from datetime import date
from typing import Annotated

from msgspec import Meta

from ramphold.control.act import (
    Above0,
    Act,
    ActParams,
    AtLeast0,
    Finite,
    Initials,
    Ledger,
    Method,
    NoParams,
    Number,
    Params,
    Reason,
    Result,
    RunNeed,
    Text,
    doc,
)
from ramphold.core import PacingStart, PressTrial
from ramphold.errors import InputError
from ramphold.method.control_chart import Chart, JudgedDay
from ramphold.method.entered import INSTRUMENT_TESTS
from ramphold.method.lookup import find
from ramphold.method.sieve_openings import check_opening
from ramphold.method.sieves import opening_mm
from ramphold.sample import (
    BenchRecord,
    CertificateTaken,
    ControlDay,
    ControlPoint,
    CylinderCalibrated,
    DailyCheckMade,
    Equipment,
    EquipmentChecked,
)

_Day = Annotated[str, Meta(pattern=r"^\d{4}-\d\d-\d\d$")]

# --- parameters --------------------------------------------------------------------------------


class CalibrateCylinderParams(ActParams, frozen=True, kw_only=True):
    """A cylinder has been weighed empty and full of water at a temperature in C."""

    cylinder: Text
    temp_c: Annotated[float, Meta(ge=0, le=40, description="Temperature of the water in C.")]


class MakeDailyCheckParams(ActParams, frozen=True, kw_only=True):
    """What an instrument read against a known value, by a rule of `method.daily_check`."""

    rule: Text
    measured: Finite
    expected: Finite
    base: Annotated[Above0 | None, doc("Full range of the load; EXPECTED by default.")] = None


class CheckEquipmentParams(ActParams, frozen=True, kw_only=True):
    """A cell, a sieve or an instrument was inspected; bore in inches, opening in mm."""

    equipment: Equipment
    name: Annotated[Text, doc("Which one; a sieve or an instrument by its serial.")]
    sieve: Annotated[Number | None, doc("US number of a sieve.")] = None
    test: Annotated[
        str, Meta(max_length=60, description="What an instrument is for, such as turbidity.")
    ] = ""
    finding: Annotated[Reason, doc("What was found.")]
    measured: Annotated[Above0 | None, doc("Bore, or mean opening.")] = None
    nominal: Annotated[Above0 | None, doc("The same when it was made.")] = None
    measured_u: Annotated[
        Above0 | None, doc("Standard uncertainty of the mean opening of a sieve.")
    ] = None
    spread: Annotated[AtLeast0 | None, doc("Standard deviation of a sieve's openings.")] = None
    certificate: Annotated[
        str, Meta(max_length=200, description="Its certificate; a sieve's with its class.")
    ] = ""
    due: Annotated[_Day | None, doc("Last day before the next inspection, such as 2027-05-31.")] = (
        None
    )
    usable: bool = True
    new: Annotated[bool, doc("It is a new one; its uses count from here.")] = False


class ControlChartParams(Params, frozen=True, kw_only=True):
    """Which results of the control sand; any field left out selects nothing."""

    stress_psi: Above0
    material: Annotated[Text | None, doc("What the control sand is called.")] = None
    press: Text | None = None
    cell: Text | None = None
    operator: Initials | None = None


class ZeroLoadParams(ActParams, frozen=True, kw_only=True):
    """Who says that there is no load; `anyway` is why a zero over its limit is used."""

    anyway: Annotated[Reason | None, doc("Why it is used although it is over its limit.")] = None


class TakeCertificateParams(ActParams, frozen=True, kw_only=True):
    """A certificate as TOML text, to be kept and in force from now on."""

    text: Annotated[str, Meta(max_length=50_000)]


class KeepTrialParams(ActParams, frozen=True, kw_only=True):
    """A trial of this press, to be kept."""

    trial: PressTrial


# --- results -----------------------------------------------------------------------------------


class ControlSeries(Result, frozen=True, kw_only=True):
    """The control sand's fines in order of time, and its days against the base period.

    `chart` is None before there are two days; `judged` is empty until the base is complete.
    """

    points: tuple[ControlPoint, ...]
    days: tuple[ControlDay, ...]
    chart: Chart | None
    judged: tuple[JudgedDay, ...]

    def unanswered(self, day: JudgedDay) -> bool:
        """Whether a day signals and nobody has said what was done about it."""
        return day.signal is not None and not self.days[day.index].answer


class TrialKept(Result, frozen=True, kw_only=True):
    """Where a trial was kept, and what the pacing starts from now on."""

    file: str
    start: PacingStart


# --- checks ------------------------------------------------------------------------------------


def _is_measured_whole(checked: EquipmentChecked, _: Ledger) -> None:
    if (checked.equipment is Equipment.INSTRUMENT) != bool(checked.test):
        raise InputError(f"{checked.name}: an instrument needs its test, and nothing else has one")
    if checked.equipment is Equipment.SIEVE:
        _is_a_sieve(checked)
        return
    if checked.equipment is Equipment.INSTRUMENT:
        _is_an_instrument(checked)
        return
    if checked.sieve is not None or checked.measured_u is not None or checked.spread is not None:
        raise InputError(f"{checked.name}: a cell has no number, openings or spread of a sieve")
    if (checked.measured is None) != (checked.nominal is None):
        raise InputError(f"{checked.name}: expected both its measure and its nominal one, or none")


def _is_a_sieve(checked: EquipmentChecked) -> None:
    if checked.sieve is None:
        raise InputError(f"sieve {checked.name}: expected its US number, such as 40")
    opening_mm(checked.sieve)
    if checked.measured is not None:
        check_opening(checked.sieve, checked.measured)
    elif checked.measured_u is not None:
        raise InputError(f"sieve {checked.name}: an uncertainty needs its measured mean opening")


def _is_an_instrument(checked: EquipmentChecked) -> None:
    find(dict.fromkeys(INSTRUMENT_TESTS), checked.test, "test with an instrument")
    measures = (checked.sieve, checked.measured, checked.nominal, checked.measured_u)
    if any(one is not None for one in (*measures, checked.spread)):
        raise InputError(f"instrument {checked.name}: expected its certificate, and no measure")


def _has_a_day(checked: EquipmentChecked, _: Ledger) -> None:
    try:
        date.fromisoformat(checked.due or "2000-01-01")
    except ValueError:
        raise InputError(f"due on {checked.due}: expected a day such as 2027-05-31") from None


# --- declarations ------------------------------------------------------------------------------

BENCH_RECORD = Method(
    "bench_record", NoParams, BenchRecord, "certificates, checks, cylinders and wear of the bench"
)
CONTROL_CHART = Method(
    "control_chart",
    ControlChartParams,
    ControlSeries,
    "the control sand's days by press, cell and operator, against their base period",
)
CALIBRATE_CYLINDER = Act(
    "calibrate_cylinder",
    CalibrateCylinderParams,
    CylinderCalibrated,
    "record the volume of a density cylinder, from the water it holds",
    worked_out=("water_g", "volume_cm3"),
)
MAKE_DAILY_CHECK = Act(
    "make_daily_check",
    MakeDailyCheckParams,
    DailyCheckMade,
    "check an instrument against a known value",
    worked_out=("base", "off_pct", "verdict"),
)
CHECK_EQUIPMENT = Act(
    "check_equipment",
    CheckEquipmentParams,
    EquipmentChecked,
    "record how a cell, a sieve or an instrument was found",
    checks=(_is_measured_whole, _has_a_day),
)
ZERO_LOAD = Act(
    "zero_load",
    ZeroLoadParams,
    DailyCheckMade,
    "check the zero of the load, and count from it",
    live_run=RunNeed.REFUSED,
    advice="take the zero when its record has ended",
    worked_out=("rule", "measured", "expected", "base", "off_pct", "verdict", "off_lbf"),
)
TAKE_CERTIFICATE = Act(
    "take_certificate",
    TakeCertificateParams,
    CertificateTaken,
    "keep a certificate and use it from now on",
    worked_out=(
        "certificate", "instrument", "serial", "by", "date", "due", "unit",
        "expanded_uncertainty", "coverage_factor", "sha256",
    ),
)  # fmt: skip
KEEP_TRIAL = Method(
    "keep_trial",
    KeepTrialParams,
    TrialKept,
    "keep a trial of the press; the pacing of later runs starts from it",
)

BENCH_METHODS = (
    BENCH_RECORD, CONTROL_CHART, CALIBRATE_CYLINDER, MAKE_DAILY_CHECK, CHECK_EQUIPMENT, ZERO_LOAD,
    TAKE_CERTIFICATE, KEEP_TRIAL,
)  # fmt: skip
