"""The bench as its records have it: certificates, daily checks, cylinders, wear."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ramphold.sample._bench_records import (
    CertificateTaken,
    CylinderCalibrated,
    DailyCheckMade,
    Equipment,
    EquipmentChecked,
    Record,
)

__all__ = ["BenchRecord", "EquipmentState", "bench_record"]


@dataclass(frozen=True, slots=True, kw_only=True)
class EquipmentState:
    """A cell or a sieve: its newest check, and the crushes of a cell since then."""

    check: EquipmentChecked
    crushes: int

    @property
    def due(self) -> bool:
        """Whether it has crushed as often as it may before the next check."""
        return self.check.due_crushes is not None and self.crushes >= self.check.due_crushes


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchRecord:
    """What stands behind the numbers of a sample.

    Attributes:
        certificates: every calibration certificate, in the order in which they came into force.
        checks: daily checks in order.
        cylinders: the newest calibration of each density cylinder, by name.
        equipment: each cell and sieve that was ever checked.
    """

    certificates: tuple[CertificateTaken, ...] = ()
    checks: tuple[DailyCheckMade, ...] = ()
    cylinders: tuple[CylinderCalibrated, ...] = ()
    equipment: tuple[EquipmentState, ...] = ()

    def cylinder(self, name: str) -> CylinderCalibrated | None:
        """The newest calibration of a cylinder."""
        return next((one for one in self.cylinders if one.cylinder == name), None)

    def certificate(self, name: str) -> CertificateTaken | None:
        """The certificate of that id."""
        return next((one for one in self.certificates if one.certificate == name), None)


def bench_record(
    records: Iterable[Record], crushes: Mapping[str, int] | None = None
) -> BenchRecord:
    """Put the bench together from its own records.

    Args:
        records: the bench's, in the order they were written.
        crushes: how often each cell has crushed since its newest check, by its name.
    """
    held = tuple(records)
    cylinders = {one.cylinder: one for one in held if isinstance(one, CylinderCalibrated)}
    checked = {(one.equipment, one.name): one for one in held if isinstance(one, EquipmentChecked)}
    return BenchRecord(
        certificates=tuple(one for one in held if isinstance(one, CertificateTaken)),
        checks=tuple(one for one in held if isinstance(one, DailyCheckMade)),
        cylinders=tuple(cylinders.values()),
        equipment=tuple(
            EquipmentState(check=one, crushes=_crushes(one, crushes or {}))
            for one in checked.values()
        ),
    )


def _crushes(check: EquipmentChecked, crushes: Mapping[str, int]) -> int:
    return crushes.get(check.name, 0) if check.equipment is Equipment.CELL else 0
