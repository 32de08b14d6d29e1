"""The records of a sample: one for each fact, with who recorded it and when. Never changed.

A wrong record is followed by another that corrects it and says why. The records of a sample form a
chain; the bench's own (`sample` is None) are in `_bench_records`.
"""

from enum import StrEnum
from typing import Literal

from msgspec import UNSET, Struct, UnsetType

from ramphold.keys.person_signature import PersonSignature
from ramphold.method.gravimetric import Material
from ramphold.method.sieve_openings import within_tolerance
from ramphold.sample._weighing_places import CRUSH, DENSITY, SIEVING, Load, WeighingPlace


class Role(StrEnum):
    """What a sample is for: a client, or the laboratory's own control chart."""

    CLIENT = "client"
    CONTROL = "control"


class Tick(StrEnum):
    """What the operator confirms before the load is applied."""

    CUT = "cut between the primary sieves"
    LEVEL = "bed level"
    TURNED = "piston turned"
    ZEROED = "load zeroed before contact"


class SieveUse(StrEnum):
    """What a sieve is used for: one of the finer primary number, or each one of the stack."""

    CUT = "cut"
    AFTER_CRUSH = "after the crush"
    STACK = "sieve analysis"

    @property
    def which(self) -> str:
        """Which sieve it is, in words that follow `sieve`."""
        words = {SieveUse.CUT: "of the cut", SieveUse.STACK: "of the stack"}
        return words.get(self, str(self))


class ClockStamp(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The time beside the calendar's when a record was written.

    Attributes:
        boot: names the boot of the computer.
        t_ns: time since that boot in ns, which no setting of the calendar moves.
        synchronised: whether the kernel called the calendar synchronised; None: it did not say.
    """

    boot: str
    t_ns: int
    synchronised: bool | None


class BaseRecord(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    """One fact.

    Attributes:
        record: its number in the bench's one numbering, from 1; 0 until it is kept.
        sample: number of the sample whose chain it is in; None for the bench's own.
        operator: initials of the person who recorded it.
        utc_ns: when, UTC in ns since 1970.
        clock: the same by the time of the boot; unset where nothing is known of the clocks.
    """

    record: int = 0
    sample: int | None = None
    operator: str
    utc_ns: int
    clock: ClockStamp | UnsetType = UNSET


class SignedRecord(BaseRecord, frozen=True, kw_only=True):
    """A fact that a person answers for, and signs where the laboratory's people have keys.

    Attributes:
        signed: the person and the signature; None where initials are all there is.
    """

    signed: PersonSignature | None = None


class SampleReceived(BaseRecord, frozen=True, kw_only=True, tag="sample"):
    """A sample came in.

    Attributes:
        laboratory_number: what the laboratory calls it; no two samples share one.
        client_reference: what the client calls it.
        material: sand, ceramic or resin-coated.
        size: its nominal size, such as `20/40`.
        edition: the edition of the standard that it is tested by.
        edition_file: the text of the laboratory's own file of it; empty for one of the program's.
        use: what the proppant is for; the limits of the edition depend on it.
        role: client's sample or control sand.
        tests: the tests requested, in the order in which they are done.
        remarks: anything else.
        customer: name and contact of the customer.
        condition: of the item at its receipt.
        sampling: by whom, when, where and by which plan it was sampled, as the customer says.
        charge_tolerance_g: how far a charge may be from its target, in g.
        sieves_net: whether each fraction is weighed as a net mass instead of tare and gross.
        density_fills: how many fills of the cylinder the bulk density is the mean of.
        mass_balance: whether the material retained on the sieve after the crush is weighed too.
        guard_band: how many expanded uncertainties a value must keep from its limit to be accepted;
            0 is simple acceptance.
    """

    laboratory_number: str
    client_reference: str
    material: Material
    size: str
    edition: str
    edition_file: str = ""
    use: str = "fracturing"
    role: Role = Role.CLIENT
    tests: tuple[str, ...] = (SIEVING, DENSITY, CRUSH)
    remarks: str = ""
    charge_tolerance_g: float = 0.1
    sieves_net: bool = False
    density_fills: int = 1
    mass_balance: bool = False
    guard_band: float = 0.0
    customer: str = ""
    condition: str = ""
    sampling: str = ""


class SampleCorrected(BaseRecord, frozen=True, kw_only=True, tag="sample correction"):
    """Corrects one field of the sample, with a reason."""

    field: Literal[
        "client_reference", "material", "size", "edition", "use", "remarks", "tests",
        "customer", "condition", "sampling",
    ]  # fmt: skip
    value: str
    reason: str


class StressPlanned(BaseRecord, frozen=True, kw_only=True, tag="stress plan"):
    """How many specimens are to be crushed at a stress in psi; 0 takes it off the plan."""

    stress_psi: float
    replicates: int


class MassTaken(BaseRecord, frozen=True, kw_only=True, tag="mass"):
    """A mass, captured from the balance or entered.

    Attributes:
        test, item, load, specimen: what was weighed, as in `WeighingPlace`.
        mass_g: the mass in g, corrected by the certificate in force.
        shown_g, certificate: what the balance showed, and the id of that certificate; None where
            no certificate was in force, or the mass was entered.
        line: the bytes that the balance sent; None where the mass was entered.
        t_ns: monotonic time in ns.
        corrects: number of the record that this one replaces, if any.
        reason: why it replaces it.
        anyway: why an implausible mass was kept; None for a plausible one.
    """

    test: str
    item: str
    load: Load
    specimen: int | None = None
    mass_g: float
    shown_g: float | None = None
    certificate: str | None = None
    line: bytes | None = None
    t_ns: int
    corrects: int | None = None
    reason: str | None = None
    anyway: str | None = None

    @property
    def place(self) -> WeighingPlace:
        """What was weighed."""
        return WeighingPlace.of(self)


class CylinderChosen(BaseRecord, frozen=True, kw_only=True, tag="density cylinder"):
    """The cylinder for the bulk density; `calibration` is the record of its volume."""

    cylinder: str
    volume_cm3: float
    calibration: int


class SieveChosen(BaseRecord, frozen=True, kw_only=True, tag="sieve"):
    """Which sieve the sample is cut, analysed or sieved after the crush on, from now on.

    Attributes:
        use: which of the three; of the sieve analysis each number of the stack has a choice.
        serial, sieve: its serial and its US number.
        check: the record of its newest check.
        opening_mm, opening_u_mm: measured mean opening and its standard uncertainty in mm, by that
            check; None where not measured, or not stated.
    """

    use: SieveUse
    serial: str
    sieve: int
    check: int
    opening_mm: float | None = None
    opening_u_mm: float | None = None

    @property
    def is_allowed(self) -> bool:
        """Whether its opening is one that ASTM E11 allows, as far as it was measured."""
        return self.opening_mm is None or within_tolerance(self.sieve, self.opening_mm)


class InstrumentChosen(BaseRecord, frozen=True, kw_only=True, tag="instrument"):
    """Which instrument a test of the sample is done with, from now on.

    Attributes:
        test: such as `turbidity`.
        instrument: its serial.
        check: the record of its newest check.
        certificate: what its certificate was called then; empty without one.
    """

    test: str
    instrument: str
    check: int
    certificate: str = ""


class SpecimenAdded(BaseRecord, frozen=True, kw_only=True, tag="specimen"):
    """A charge to be crushed at a stress in psi, in a cell whose bore is in inches.

    A stress of 0 psi makes it a blank: it is sieved without a crush.

    `specimen` is its number on this bench, from 1; 0 until it is kept. `press` and `cell` name the
    equipment, for the control chart and the wear of the cell.
    """

    specimen: int = 0
    label: str
    target_psi: float
    bore_in: float
    press: str = ""
    cell: str = ""


class Ticked(BaseRecord, frozen=True, kw_only=True, tag="tick"):
    """The operator confirmed something before the crush; `done` False takes it back.

    Attributes:
        zero: for `load zeroed before contact`, the record of the zero that was read.
    """

    specimen: int
    what: Tick
    done: bool = True
    zero: int | None = None


class ShakingStarted(BaseRecord, frozen=True, kw_only=True, tag="shaking"):
    """The shaker was started for a time in s: for a crushed specimen, or for the sieve analysis."""

    specimen: int | None = None
    planned_s: float


class ShakingEnded(BaseRecord, frozen=True, kw_only=True, tag="shaking end"):
    """The material of the record `shaking` was taken off the shaker."""

    specimen: int | None = None
    shaking: int


class ValueEntered(BaseRecord, frozen=True, kw_only=True, tag="value"):
    """A result entered by a person, or grains counted against the shape chart.

    Attributes:
        what: a property of `method.entered`.
        value: in the property's unit; None where it follows from `values` or `counts`.
        values: determinations whose mean is the result, two or more.
        counts: chart value, and the number of grains that match it.
        corrects, reason: as in a mass.
    """

    what: str
    value: float | None = None
    values: tuple[float, ...] = ()
    counts: tuple[tuple[float, int], ...] = ()
    corrects: int | None = None
    reason: str | None = None


class ExclusionDecided(BaseRecord, frozen=True, kw_only=True, tag="exclusion"):
    """A person excludes a specimen from the result, or includes it again, with a reason."""

    specimen: int
    excluded: bool
    reason: str


class RunDecided(SignedRecord, frozen=True, kw_only=True, tag="decision"):
    """A person decides whether a run counts, whatever its assessment says, with a reason."""

    specimen: int
    run: int
    counts: bool
    reason: str

    @property
    def words(self) -> str:
        """What was decided, in words that follow the run."""
        return "counts" if self.counts else "does not count"


class ControlAnswered(BaseRecord, frozen=True, kw_only=True, tag="control answer"):
    """What was found and done about the control chart's signal at this control sample."""

    finding: str


class Reviewed(SignedRecord, frozen=True, kw_only=True, tag="review"):
    """The sample was reviewed; `operator` is the reviewer, who recorded nothing else of it."""

    remarks: str = ""


class ReportIssued(SignedRecord, frozen=True, kw_only=True, tag="report"):
    """A report was issued.

    Attributes:
        revision: from 1; a later one supersedes the earlier ones.
        changes: what differs from the revision before; empty for the first.
        sha256, pdf_sha256: of the issued HTML and of the PDF beside it, without the seal that is
            added afterwards, in hex; empty where there was none.
    """

    revision: int
    changes: str = ""
    sha256: str = ""
    pdf_sha256: str = ""
