"""The control sand: the fines of each specimen, and the laboratory's own precision."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import fmean

from ramphold.method.precision import Precision, components
from ramphold.sample._sample_record import SampleRecord
from ramphold.sample._sample_records import Role

#: How many of the newest control samples show the laboratory's precision.
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
        answer: what was done about a signal at its sample; empty if nothing was.
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
    answer: str = ""


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
            answer="; ".join(f"{said.operator}: {said.finding}" for said in record.answers),
        )
        for record in records
        if record.sample.role is Role.CONTROL
        for one in record.specimens
        if one.counts and one.run is not None and one.fines_pct is not None
    ]
    return by_run(found)


def by_run(points: Iterable[ControlPoint]) -> tuple[ControlPoint, ...]:
    """Points in the order of their runs."""
    return tuple(sorted(points, key=lambda point: (point.utc_ns, point.sample, point.specimen)))


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlDay:
    """A control sample's specimens at one stress: one split, set up once.

    Attributes:
        sample: its number.
        utc_ns: when its first run was started, UTC in ns.
        n: how many specimens count.
        mean_pct: the mean of their fines in % of the charge.
        answer: what was done about a signal at it, and by whom; empty if nothing was.
    """

    sample: int
    utc_ns: int
    n: int
    mean_pct: float
    answer: str


def control_days(points: Iterable[ControlPoint]) -> tuple[ControlDay, ...]:
    """The control samples of points of one stress, in the order in which they were crushed."""
    groups: dict[int, list[ControlPoint]] = {}
    for point in points:
        groups.setdefault(point.sample, []).append(point)
    return tuple(
        ControlDay(
            sample=sample,
            utc_ns=group[0].utc_ns,
            n=len(group),
            mean_pct=fmean(point.fines_pct for point in group),
            answer=group[0].answer,
        )
        for sample, group in groups.items()
    )


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
