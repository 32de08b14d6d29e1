"""The bench put together from its records: certificates, checks, cylinders, wear, warnings."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ramphold.method.precision import Precision, Spread
from ramphold.method.wear import EQUIPMENT, Equipment, Wear
from ramphold.sample._bench_records import (
    CertificateTaken,
    CylinderCalibrated,
    DailyCheckMade,
    EquipmentChecked,
    PressWarned,
    Record,
    UnusualValueKept,
)
from ramphold.sample._clock_marks import day_text
from ramphold.sample._press_warnings import PressWarning, press_warnings

#: The kinds of records that a bench is put together from.
BENCH_KINDS = (
    CertificateTaken,
    DailyCheckMade,
    CylinderCalibrated,
    EquipmentChecked,
    PressWarned,
    UnusualValueKept,
)

_NS_PER_DAY = 86_400 * 10**9


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentState:
    """A cell, a sieve or an instrument: its newest check, and its uses.

    Attributes:
        check: the newest check.
        uses: crushes of a cell since it was new; sievings of a sieve, and samples of an
            instrument, since its check. Where nobody recorded which sieve was used, each of its
            number counts the sieving.
    """

    check: EquipmentChecked
    uses: int

    def wear(self, utc_ns: int) -> Wear | None:
        """Its wear at a time, UTC in ns; None for a cell that was never measured."""
        check = self.check
        return EQUIPMENT[check.equipment].wear(
            self.uses,
            max((utc_ns - check.utc_ns) // _NS_PER_DAY, 0),
            measured=check.measured,
            nominal=check.nominal,
            overdue_since=check.due if check.due and day_text(utc_ns) > check.due else None,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Blank:
    """What a charge that was not crushed lost into the pan.

    Attributes:
        sample, specimen: their numbers.
        size: of the sample.
        cut, after: serials of the two sieves; empty where nobody recorded them.
        fines_pct: what passed, in % of its charge.
    """

    sample: int
    specimen: int
    size: str
    cut: str
    after: str
    fines_pct: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRecord:
    """The bench behind the results of a sample.

    Attributes:
        certificates: every calibration certificate, in the order in which they came into force.
        checks: the daily checks, in order.
        cylinders: the newest calibration of each density cylinder.
        equipment: each cell, sieve and instrument that was ever checked.
        laboratory: the precision in % of the control sand; None where not known.
        warnings: those of the press while no run was live, in order.
        unusual: the unusual values of its configuration, kept or given up, in order.
        blanks: those of other samples, oldest first; empty where they were not asked for.
    """

    certificates: tuple[CertificateTaken, ...] = ()
    checks: tuple[DailyCheckMade, ...] = ()
    cylinders: tuple[CylinderCalibrated, ...] = ()
    equipment: tuple[EquipmentState, ...] = ()
    laboratory: Precision | None = None
    warnings: tuple[PressWarning, ...] = ()
    unusual: tuple[UnusualValueKept, ...] = ()
    blanks: tuple[Blank, ...] = ()

    @property
    def own_spread(self) -> Spread | None:
        """Spread in % of single specimens of one control sample; None where not known."""
        return None if self.laboratory is None else self.laboratory.within

    def sieves(self, number: int) -> tuple[EquipmentChecked, ...]:
        """The newest check of each sieve of a US number that is in use, by serial."""
        return tuple(
            sorted(
                (
                    one.check
                    for one in self.equipment
                    if one.check.sieve == number and one.check.usable
                ),
                key=lambda check: check.name,
            )
        )

    def instruments(self, test: str) -> tuple[EquipmentChecked, ...]:
        """The newest check of each instrument for a test that is in use, by serial."""
        there = (one.check for one in self.equipment if one.check.usable)
        return tuple(
            sorted((one for one in there if test and one.test == test), key=lambda one: one.name)
        )

    def cylinder(self, name: str) -> CylinderCalibrated | None:
        """The newest calibration of a cylinder."""
        return next((one for one in self.cylinders if one.cylinder == name), None)

    def certificate(self, name: str) -> CertificateTaken | None:
        """The certificate of that id."""
        return next((one for one in self.certificates if one.certificate == name), None)


def bench_record(
    records: Iterable[Record],
    uses: Callable[[EquipmentChecked, int], int],
    laboratory: Precision | None = None,
    blanks: tuple[Blank, ...] = (),
) -> BenchRecord:
    """Put the bench together from its own records.

    Args:
        records: the bench's, in the order they were written.
        uses: how often the cell or sieve of a check has been used since a time, UTC in ns.
        laboratory: the precision of the control sand.
        blanks: those of all samples, oldest first.
    """
    held = tuple(records)
    since = _counted_from(held)
    cylinders = {one.cylinder: one for one in held if isinstance(one, CylinderCalibrated)}
    return BenchRecord(
        certificates=tuple(one for one in held if isinstance(one, CertificateTaken)),
        checks=tuple(one for one in held if isinstance(one, DailyCheckMade)),
        cylinders=tuple(cylinders.values()),
        equipment=tuple(
            EquipmentState(check=one, uses=uses(one, since.get(key, 0)))
            for key, one in _newest(held).items()
        ),
        laboratory=laboratory,
        warnings=press_warnings(held),
        unusual=tuple(one for one in held if isinstance(one, UnusualValueKept)),
        blanks=blanks,
    )


def _counted_from(records: Iterable[Record]) -> dict[tuple[Equipment, str], int]:
    """When counting the uses of a cell or sieve began, UTC in ns; from the start for the others."""
    return {
        (one.equipment, one.name): one.utc_ns
        for one in records
        if isinstance(one, EquipmentChecked)
        and (one.new or EQUIPMENT[one.equipment].renewed_by_check)
    }


def _newest(records: Iterable[Record]) -> dict[tuple[Equipment, str], EquipmentChecked]:
    return {(one.equipment, one.name): one for one in records if isinstance(one, EquipmentChecked)}
