"""The records of the bench itself: certificates, daily checks, cylinders, wear."""

from msgspec import structs

from ramphold.keys.ed25519 import MaybeSignature, PublicKey
from ramphold.keys.key_change import KeyChange, KeyOwner
from ramphold.method.wear import Equipment
from ramphold.sample._person_records import PersonAdded, PersonRetired
from ramphold.sample._run_records import RunFinished
from ramphold.sample._sample_records import (
    BaseRecord,
    ControlAnswered,
    CylinderChosen,
    ExclusionDecided,
    InstrumentChosen,
    MassTaken,
    ReportIssued,
    Reviewed,
    RunDecided,
    SampleCorrected,
    SampleReceived,
    ShakingEnded,
    ShakingStarted,
    SieveChosen,
    SpecimenAdded,
    StressPlanned,
    Ticked,
    ValueEntered,
)


class CertificateTaken(BaseRecord, frozen=True, kw_only=True, tag="certificate"):
    """A calibration certificate came into force.

    Attributes:
        certificate: its id, as runs and reports cite it.
        instrument, serial: what was calibrated; `instrument` begins with `load` or `balance`.
        by: who calibrated it.
        date, due: day of calibration and last day in force, ISO 8601.
        unit, expanded_uncertainty, coverage_factor: U over the calibrated range, and its k.
        sha256: of the certificate's file, in hex.
    """

    certificate: str
    instrument: str
    serial: str
    by: str
    date: str
    due: str
    unit: str
    expanded_uncertainty: float
    coverage_factor: float
    sha256: str


class DailyCheckMade(BaseRecord, frozen=True, kw_only=True, tag="daily check"):
    """An instrument was checked against a known value, by a rule of `method.daily_check`.

    Attributes:
        rule, measured, expected, base, off_pct, verdict: as in `method.daily_check`.
        off_lbf: the error of a zero as a force; None for other checks, and for a zero that a
            person typed, whose unit is unknown.
        anyway: why a zero beyond its limit is used; None for one within it.
    """

    rule: str
    measured: float
    expected: float
    base: float
    off_pct: float
    verdict: str
    off_lbf: float | None = None
    anyway: str | None = None


class EquipmentChecked(BaseRecord, frozen=True, kw_only=True, tag="equipment check"):
    """A cell, a sieve or an instrument was measured, calibrated or inspected.

    Attributes:
        equipment, name: which one; a sieve or an instrument by its serial.
        sieve: US number of a sieve; None for others.
        test: what an instrument is used for, such as `turbidity`; empty for others.
        measured, nominal: bore in inches, or mean opening in mm; None where it was only inspected.
        measured_u, spread: standard uncertainty of the mean opening of a sieve, and the standard
            deviation of its openings, in mm; None where not stated.
        certificate: what its certificate calls it, a sieve's with its class; empty without one.
        finding: what was found.
        due: last day before the next inspection, ISO 8601; None where none is set.
        usable: whether it remains in use.
        new: whether it is new, so that its uses are counted from here.
    """

    equipment: Equipment
    name: str
    sieve: int | None = None
    test: str = ""
    measured: float | None = None
    nominal: float | None = None
    measured_u: float | None = None
    spread: float | None = None
    certificate: str = ""
    finding: str
    due: str | None = None
    usable: bool = True
    new: bool = False

    @property
    def title(self) -> str:
        """What it is and which one, as a person calls it."""
        number = "" if self.sieve is None else f", No. {self.sieve}"
        use = f", {self.test}" if self.test else ""
        return f"{self.equipment} {self.name}{number}{use}"


class PressWarned(BaseRecord, frozen=True, kw_only=True, tag="press warning"):
    """The load came near the rating, or over it, while no run was live.

    Attributes:
        warning: which, such as `over rating`.
        happened: `raised`, `acknowledged` by the operator, or `cleared`.
        name: the weakest of press, cell and sensor.
        load_lbf: the load when it was raised, and later the greatest so far, in lbf.
        limit_lbf: the limit that it was over, in lbf.
    """

    warning: str
    happened: str
    name: str
    load_lbf: float | None
    limit_lbf: float | None


class UnusualValueKept(BaseRecord, frozen=True, kw_only=True, tag="unusual value"):
    """A value in the bench's configuration is unlike any bench, and stands with a reason.

    Attributes:
        key, value: section and key of `bench.toml`, and its value with the unit.
        reason: why it is right; `operator` is who says so.
        in_use: whether it is in the configuration from here on; false where it no longer is.
    """

    key: str
    value: str
    reason: str
    in_use: bool = True


class CylinderCalibrated(BaseRecord, frozen=True, kw_only=True, tag="cylinder"):
    """A density cylinder's volume was measured with water, from its standing masses."""

    cylinder: str
    water_g: float
    temp_c: float
    volume_cm3: float


class HandForgotten(BaseRecord, frozen=True, kw_only=True, tag="hand forgotten"):
    """What the pacing learned of a hand on a press is used no more.

    Attributes:
        hand: initials of the person whose hand it is.
        press: name of the press.
        up_to_run: the newest run that teaches nothing any more, as those before it.
    """

    hand: str
    press: str
    up_to_run: int


class KeyChanged(BaseRecord, frozen=True, kw_only=True, tag="key change"):
    """The bench's key was renewed or given up as lost, or another collector's key was taken.

    Attributes:
        whose, old, new, reason, by_old, by_new: as in `keys.key_change.KeyChange`; `operator` is
            its `by`, `utc_ns` its time.
    """

    whose: KeyOwner
    old: PublicKey
    new: PublicKey
    reason: str
    by_old: MaybeSignature = ""
    by_new: MaybeSignature = ""

    @property
    def change(self) -> KeyChange:
        """The statement that it records."""
        return KeyChange(
            whose=self.whose,
            old=self.old,
            new=self.new,
            by=self.operator,
            reason=self.reason,
            utc_ns=self.utc_ns,
            by_old=self.by_old,
            by_new=self.by_new,
        )

    @classmethod
    def of(cls, change: KeyChange) -> "KeyChanged":
        """The record of a statement."""
        fields = structs.asdict(change)
        return cls(operator=fields.pop("by"), **fields)


#: Any record.
Record = (
    SampleReceived
    | SampleCorrected
    | StressPlanned
    | MassTaken
    | CylinderChosen
    | SieveChosen
    | InstrumentChosen
    | SpecimenAdded
    | Ticked
    | ShakingStarted
    | ShakingEnded
    | RunFinished
    | ValueEntered
    | ExclusionDecided
    | RunDecided
    | ControlAnswered
    | Reviewed
    | ReportIssued
    | CertificateTaken
    | DailyCheckMade
    | EquipmentChecked
    | CylinderCalibrated
    | PressWarned
    | UnusualValueKept
    | HandForgotten
    | PersonAdded
    | PersonRetired
    | KeyChanged
)
