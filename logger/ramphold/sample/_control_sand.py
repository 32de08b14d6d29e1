"""The control sand: the fines of each specimen, and the laboratory's own precision."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from statistics import fmean

from ramphold.method.precision import Precision, ScatterSource, Spread, combined, pool
from ramphold.sample._sample_record import SampleRecord
from ramphold.sample._sample_records import Role

#: How many of the newest control samples show the laboratory's precision.
NEWEST_CONTROLS = 40

#: From memory, near 10 % of fines, for a laboratory whose control sand has not shown them.
_FROM_MEMORY_PCT = {"splits": 0.5, "days": 0.3, "operators": 0.3, "presses": 0.3}
# Good to about a third of themselves: JCGM 100:2008 G.4.2, from memory.
_MEMORY_DOF = 4.0
# Ours: of two operators nothing can be said that holds for a third.
_LEAST_LEVELS = 3
# Ours: runs farther apart are of two working days.
_NIGHT_NS = 6 * 3600 * 10**9
_AND = " and "


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


def laboratory_precision(points: Iterable[ControlPoint]) -> Precision:
    """The scatter in % of control sands: of single specimens, and between what they share.

    The components of variance between splits (control samples), days, operators and presses are
    estimated together by restricted maximum likelihood. Those that never differed without another
    are one source. What has fewer than three levels, or cannot be told apart, is from memory.
    """
    return _precision(tuple(points))


@lru_cache(maxsize=4)  # each record of a sample asks for it
def _precision(points: tuple[ControlPoint, ...]) -> Precision:
    levels = _levels(points)
    estimated: dict[str, Spread] = {}
    within = None
    groups: dict[tuple[int, float], list[float]] = {}
    for point in points:
        groups.setdefault((point.sample, point.stress_psi), []).append(point.fines_pct)
    if pool(groups.values()) is not None:
        # numpy, which neither screen nor collector loads to start.
        from ramphold.method.variance_components import variance_components  # noqa: PLC0415

        families = [(point.material, point.stress_psi) for point in points]
        found = variance_components([point.fines_pct for point in points], families, levels)
        if found is not None:
            within, estimated = found.residual, found.factors
    shown = {part for name in estimated for part in name.split(_AND)}
    sources = (
        *(ScatterSource(name=name, spread=one, known=True) for name, one in estimated.items()),
        *(
            ScatterSource(name=name, spread=Spread(sd=sd, dof=_MEMORY_DOF), known=False)
            for name, sd in _FROM_MEMORY_PCT.items()
            if name not in shown
        ),
    )
    return Precision(within=within, between=combined(sources), sources=sources)


def _levels(points: Sequence[ControlPoint]) -> dict[str, list[int]]:
    """The levels of each factor that has enough of them; equal ones under one name."""
    days = _days(points)
    columns: dict[str, list[object]] = {
        "splits": [point.sample for point in points],
        "days": [days[point.utc_ns] for point in points],
        "operators": [point.operator for point in points],
        "presses": [point.press for point in points],
    }
    names: dict[tuple[int, ...], list[str]] = {}
    for name, column in columns.items():
        order = list(dict.fromkeys(column))
        if len(order) >= _LEAST_LEVELS:
            names.setdefault(tuple(map(order.index, column)), []).append(name)
    return {_AND.join(same): list(levels) for levels, same in names.items()}


def _days(points: Iterable[ControlPoint]) -> dict[int, int]:
    """The working day of each run, by its start: a long pause ends a day."""
    found: dict[int, int] = {}
    day, before = 0, None
    for utc_ns in sorted({point.utc_ns for point in points}):
        day += before is not None and utc_ns - before > _NIGHT_NS
        found[utc_ns], before = day, utc_ns
    return found
