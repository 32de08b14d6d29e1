"""The control sand: the fines of each specimen, and the laboratory's own spread."""

from collections.abc import Iterable
from dataclasses import dataclass

from ramphold.method.precision import Spread, pool
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


def laboratory_spread(points: Iterable[ControlPoint]) -> Spread | None:
    """Spread in % of single specimens within samples and stresses; None before there are two."""
    groups: dict[tuple[int, float], list[float]] = {}
    for point in points:
        groups.setdefault((point.sample, point.stress_psi), []).append(point.fines_pct)
    return pool(groups.values())
