"""The control sand: the fines of each specimen, and the laboratory's own precision."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramphold.method.precision import Precision, components
from ramphold.sample._sample_record import SampleRecord
from ramphold.sample._sample_records import Role

#: How many of the newest control samples are used.
NEWEST_CONTROLS = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlPoint:
    """A specimen of a control sand that counts.

    Attributes:
        sample, specimen: their numbers.
        material: the name of the sand, from the client reference of its sample.
        utc_ns: when its run was started, UTC in ns.
        press, cell, operator: where and by whom it was crushed.
        stress_psi: the target stress.
        fines_pct: its fines in % of the charge.
    """

    sample: int
    specimen: int
    material: str
    utc_ns: int
    press: str
    cell: str
    operator: str
    stress_psi: float
    fines_pct: float


def control_points(records: Iterable[SampleRecord]) -> tuple[ControlPoint, ...]:
    """Every specimen of the control samples that counts, the oldest run first."""
    found = [
        ControlPoint(
            sample=record.sample.sample or 0,
            specimen=one.number,
            material=record.sample.client_reference,
            utc_ns=one.run.started_utc_ns,
            press=one.added.press,
            cell=one.added.cell,
            operator=one.run.operator,
            stress_psi=one.added.target_psi,
            fines_pct=one.fines_pct,
        )
        for record in records
        if record.sample.role is Role.CONTROL
        for one in record.specimens
        if one.counts and one.run is not None and one.fines_pct is not None
    ]
    return tuple(sorted(found, key=lambda point: point.utc_ns))


def laboratory_precision(points: Iterable[ControlPoint]) -> Precision | None:
    """The scatter in % of control sands: of single specimens, and from one sample to the next.

    Each control sample is a split of its own, crushed on a day of its own, so that the deviation
    from one to the next holds both. None before a sample has two specimens at a stress.
    """
    families: dict[tuple[str, float], dict[int, list[float]]] = {}
    for point in points:
        family = families.setdefault((point.material, point.stress_psi), {})
        family.setdefault(point.sample, []).append(point.fines_pct)
    return components([list(family.values()) for family in families.values()])
