"""What is written down of a sample, one record a fact: who, when and what. Never changed.

A record that was wrong is followed by another that says so and why. Records of one sample form a
chain; those of the bench itself (`sample` is None) stand in `_bench_records`.
"""

from enum import StrEnum
from typing import Literal

from msgspec import Struct

from ramphold.method.gravimetric import Material
from ramphold.sample._weighing_places import CRUSH, DENSITY, SIEVING, Load, WeighingPlace

__all__ = [
    "BaseRecord",
    "CylinderChosen",
    "ExclusionDecided",
    "MassTaken",
    "ReportIssued",
    "Reviewed",
    "Role",
    "RunDecided",
    "SampleCorrected",
    "SampleReceived",
    "ShakingEnded",
    "ShakingStarted",
    "SpecimenAdded",
    "StressPlanned",
    "Tick",
    "Ticked",
    "ValueEntered",
]


class Role(StrEnum):
    """Whom a sample serves: a client, or the laboratory's own control chart."""

    CLIENT = "client"
    CONTROL = "control"


class Tick(StrEnum):
    """What the operator has seen to before the load goes on."""

    CUT = "cut between the primary sieves"
    LEVEL = "bed level"
    TURNED = "piston turned"
    ZEROED = "load zeroed before contact"


class BaseRecord(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    """One fact.

    Attributes:
        record: its number in the bench's one numbering, from 1; 0 until it is kept.
        sample: number of the sample whose chain it is in; None for the bench's own.
        operator: initials of who wrote it.
        utc_ns: when, UTC in ns since 1970.
    """

    record: int = 0
    sample: int | None = None
    operator: str
    utc_ns: int


class SampleReceived(BaseRecord, frozen=True, kw_only=True, tag="sample"):
    """A sample came in.

    Attributes:
        laboratory_number: what the laboratory calls it; no two samples share one.
        client_reference: what the client calls it.
        material: sand, ceramic or resin-coated.
        size: size that it claims, such as `20/40`.
        edition: edition of the standard it is tested by.
        use: what the proppant is for, by which the edition has limits.
        role: client's sample or control sand.
        tests: what is asked for, in the order in which it is done.
        remarks: anything else.
        charge_tolerance_g: how far a charge may lie off its target, in g.
        sieves_net: whether sieves are weighed out as net masses instead of tare and gross.
        mass_balance: whether what the sieve retains after the crush is weighed too.
    """

    laboratory_number: str
    client_reference: str
    material: Material
    size: str
    edition: str
    use: str = "fracturing"
    role: Role = Role.CLIENT
    tests: tuple[str, ...] = (SIEVING, DENSITY, CRUSH)
    remarks: str = ""
    charge_tolerance_g: float = 0.1
    sieves_net: bool = False
    mass_balance: bool = False


class SampleCorrected(BaseRecord, frozen=True, kw_only=True, tag="sample correction"):
    """One statement about the sample was wrong; this is the right one, and why."""

    field: Literal["client_reference", "material", "size", "edition", "use", "remarks", "tests"]
    value: str
    reason: str


class StressPlanned(BaseRecord, frozen=True, kw_only=True, tag="stress plan"):
    """So many specimens are to be crushed at a stress in psi; 0 takes the stress off the plan."""

    stress_psi: float
    replicates: int


class MassTaken(BaseRecord, frozen=True, kw_only=True, tag="mass"):
    """A mass as it was captured or entered.

    Attributes:
        test, item, load, specimen: its place, as in `WeighingPlace`.
        mass_g: the mass in g, corrected by the certificate in force.
        shown_g, certificate: what the balance showed, and that certificate's id; None where none
            was in force, or a person entered the mass.
        line: the bytes that the balance sent; None where a person entered it.
        t_ns: monotonic time in ns.
        corrects: number of the record that this one replaces, if any.
        reason: why it replaces it.
        anyway: why it was kept although it was refused as implausible; None where it was not.
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
    """Bulk density is measured with this cylinder; `calibration` is the record of its volume."""

    cylinder: str
    volume_cm3: float
    calibration: int


class SpecimenAdded(BaseRecord, frozen=True, kw_only=True, tag="specimen"):
    """A charge to be crushed at a stress in psi in a cell of a bore in inches.

    `specimen` is its number on this bench, from 1; 0 until it is kept. `press` and `cell` say on
    what, for the control chart and the wear of the cell.
    """

    specimen: int = 0
    label: str
    target_psi: float
    bore_in: float
    press: str = ""
    cell: str = ""


class Ticked(BaseRecord, frozen=True, kw_only=True, tag="tick"):
    """Something was seen to before the press; `done` False takes the tick back."""

    specimen: int
    what: Tick
    done: bool = True


class ShakingStarted(BaseRecord, frozen=True, kw_only=True, tag="shaking"):
    """The shaker runs for so many s: for a specimen after its crush, or for the sieve analysis."""

    specimen: int | None = None
    planned_s: float


class ShakingEnded(BaseRecord, frozen=True, kw_only=True, tag="shaking end"):
    """What went on the shaker by the record `shaking` was taken off it."""

    specimen: int | None = None
    shaking: int


class ValueEntered(BaseRecord, frozen=True, kw_only=True, tag="value"):
    """A result that a person enters, or grains counted off the chart.

    Attributes:
        what: a property of `method.entered`.
        value: in the property's unit; None where `counts` give it.
        counts: chart value and number of grains like it.
        corrects, reason: as of a mass.
    """

    what: str
    value: float | None = None
    counts: tuple[tuple[float, int], ...] = ()
    corrects: int | None = None
    reason: str | None = None


class ExclusionDecided(BaseRecord, frozen=True, kw_only=True, tag="exclusion"):
    """A person leaves a specimen out of the result, or takes it in again, and says why."""

    specimen: int
    excluded: bool
    reason: str


class RunDecided(BaseRecord, frozen=True, kw_only=True, tag="decision"):
    """A person decides whether a run counts whatever its assessment says, and says why."""

    specimen: int
    run: int
    counts: bool
    reason: str


class Reviewed(BaseRecord, frozen=True, kw_only=True, tag="review"):
    """Somebody other than the operators has looked it all over; `operator` is the reviewer."""

    remarks: str = ""


class ReportIssued(BaseRecord, frozen=True, kw_only=True, tag="report"):
    """A report went out.

    Attributes:
        revision: from 1; a later one supersedes those before it.
        changes: what it says otherwise than the one before; empty for the first.
        sha256: of the file that went out, in hex.
    """

    revision: int
    changes: str = ""
    sha256: str = ""
