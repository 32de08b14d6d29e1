"""Over time: control charts, one source's class and fines, wear, and what is due."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from statistics import fmean
from typing import Any

from datasette.utils.asgi import Request, Response
from msgspec import Struct

from ramphold.browse._time_charts import Mark, class_figure, control_figure, fines_figure
from ramphold.browse.links import sample_path
from ramphold.browse.site import Site
from ramphold.browse.words import clock_minute, day, number
from ramphold.collector.archive import Archive
from ramphold.collector.archived_sample import ArchivedSample
from ramphold.method.control_chart import JudgedDay, chart, judged
from ramphold.method.limits import FINES_PCT
from ramphold.plain_text import visible
from ramphold.sample import BenchRecord, ControlAnswered, EquipmentState, kind_name

_CONTROLS, _SAMPLES, _SOURCES = 300, 200, 500
_LEAST_DAYS = 2
_BY = ("press", "cell", "operator")
_CONTROL_DAYS = f"""SELECT f.bench, newest.client_reference, p.target_psi, p.press, p.cell,
        p.operator, p.run_utc_ns, p.fines_pct, newest.series, newest.sample,
        newest.laboratory_number
    FROM (SELECT series, sample, client_reference, laboratory_number FROM sample_results
        WHERE role = 'control' ORDER BY received_utc_ns DESC LIMIT {_CONTROLS}) newest
    CROSS JOIN samples_in_force f CROSS JOIN specimen_results p
    WHERE f.series = newest.series AND f.sample = newest.sample
        AND p.series = newest.series AND p.sample = newest.sample
        AND p.counts = 1 AND p.fines_pct IS NOT NULL AND p.run_utc_ns IS NOT NULL
    ORDER BY p.run_utc_ns"""  # noqa: S608 - a number of ours
_REFERENCES = f"""SELECT client_reference FROM (SELECT client_reference FROM sample_results
        WHERE role = 'client' ORDER BY received_utc_ns DESC LIMIT {_SOURCES}) newest
    GROUP BY client_reference ORDER BY count(*) DESC, client_reference"""  # noqa: S608
_OF_SOURCE = f"""SELECT s.series, s.sample, s.received_utc_ns, s.laboratory_number, s.crush_class,
        f.bench, f.disputed
    FROM sample_results s CROSS JOIN samples_in_force f
    WHERE lower(s.client_reference COLLATE BINARY) = ? AND s.role = 'client'
        AND f.series = s.series AND f.sample = s.sample
    ORDER BY s.received_utc_ns DESC LIMIT {_SAMPLES}"""  # noqa: S608
_STRESSES = """SELECT stress_psi, specimens, mean_pct FROM stress_results
    WHERE series = ? AND sample = ?"""


class ControlResult(Struct, frozen=True, kw_only=True):
    """One specimen of a control sand."""

    bench: str
    material: str
    stress_psi: float
    press: str
    cell: str
    operator: str
    utc_ns: int
    fines_pct: float
    series: str
    sample: int
    laboratory_number: str


async def over_time_page(site: Site, request: Request) -> Response:
    """The charts, by what the control days are grouped, and of which source."""
    by = request.args.get("by", "")
    asked = {
        "by": by if by in _BY else _BY[0],
        "source": request.args.get("source", ""),
    }
    utc_ns = site.clock.utc_ns()

    def gathered(archive: Archive) -> dict[str, Any]:
        references = [name for (name,) in archive.database.rows(_REFERENCES)]
        source = asked["source"] or (references[0] if references else "")
        benches = [
            (one.bench, site.reports.bench(archive, ArchivedSample(archive, one.series, 0)))
            for one in archive.benches()
            if one.standing == "in force"
        ]
        return {
            "references": references,
            "charts": [
                made for group in _groups(archive, asked["by"]) for made in _chart(archive, *group)
            ],
            "source": source,
            **_source(archive, source),
            "equipment": [
                _equipment(name, one, utc_ns) for name, bench in benches for one in bench.equipment
            ],
            "due": _due(benches),
            "today": day(utc_ns),
        }

    found = await site.read(gathered)
    drawn: dict[str, Any] = {"charts": [one.pop("figure") for one in found["charts"]]}
    for name in ("class_figure", "fines_figure"):
        if name in found:
            drawn[name] = found.pop(name)
    values = {**found, "asked": asked, "by": _BY}
    return await site.show(request, "over_time.html", values, markup=drawn)


def _groups(archive: Archive, by: str) -> Iterator[tuple[tuple[str, ...], list[ControlResult]]]:
    """The results of each control sand at a stress, by press, cell or operator."""
    fields = ControlResult.__struct_fields__
    groups: dict[tuple[str, ...], list[ControlResult]] = defaultdict(list)
    for row in archive.database.rows(_CONTROL_DAYS):
        one = ControlResult(**dict(zip(fields, row, strict=True)))
        who = {
            "press": one.press or one.bench,
            "cell": f"{one.press or one.bench}, cell {one.cell or 'unknown'}",
            "operator": one.operator,
        }[by]
        groups[one.material, f"{one.stress_psi:.0f}", who].append(one)
    yield from sorted(groups.items())


def _chart(
    archive: Archive, key: tuple[str, ...], results: Sequence[ControlResult]
) -> Iterator[dict[str, Any]]:
    """A group's chart of day means; nothing of fewer than two days."""
    days: dict[tuple[str, int], list[ControlResult]] = defaultdict(list)
    for one in results:
        days[one.series, one.sample].append(one)
    means = [fmean(one.fines_pct for one in of_day) for of_day in days.values()]
    if len(means) < _LEAST_DAYS:
        return
    base = chart(means)
    after = judged(base, means)
    signals = {one.index: one for one in after if one.signal}
    marks = [
        Mark(
            utc_ns=of_day[0].utc_ns,
            value=mean,
            path=sample_path(*which),
            says=f"{of_day[0].laboratory_number}, {day(of_day[0].utc_ns)}: {mean:.2f} % of "
            f"{len(of_day)} specimens" + (f", {signals[at].signal}" if at in signals else ""),
            odd=at in signals,
        )
        for at, (which, of_day, mean) in enumerate(zip(days, days.values(), means, strict=True))
    ]
    material, stress_psi, who = map(visible, key)
    name = f"{material} at {stress_psi} psi, {who}"
    yield {
        "name": name,
        "figure": control_figure(marks, base, after, name),
        "days": len(means),
        "base": base.days,
        "complete": base.complete,
        "centre": number(base.centre, ".2f"),
        "sigma": number(base.sigma, ".2f"),
        "signals": list(_signals(archive, marks, signals, list(days))),
    }


def _signals(
    archive: Archive,
    marks: Sequence[Mark],
    signals: dict[int, JudgedDay],
    days: Sequence[tuple[str, int]],
) -> Iterator[dict[str, Any]]:
    """Each day that signals, and whether somebody has said what was done about it."""
    for at, one in signals.items():
        series, sample = days[at]
        answers = archive.database.rows(
            "SELECT operator FROM events WHERE series = ? AND sample = ? AND kind = ?",
            (series, sample, kind_name(ControlAnswered)),
        )
        yield {
            "path": marks[at].path,
            "day": day(marks[at].utc_ns),
            "signal": one.signal,
            "answer": f"answered by {answers[-1][0]}" if answers else "",
        }


def _source(archive: Archive, source: str) -> dict[str, Any]:
    """Class and mean fines of one source's samples over time, oldest first."""
    rows = archive.database.rows(_OF_SOURCE, (source.lower(),))[::-1]
    classes, lines = [], defaultdict(list)
    table = []
    for series, sample, utc_ns, laboratory_number, crush_class, bench, disputed in rows:
        path = sample_path(series, sample)
        says = f"{laboratory_number}, {day(utc_ns)}"
        if crush_class:
            value = float(crush_class.removesuffix("K"))
            classes.append(
                Mark(utc_ns=utc_ns, value=value, path=path, says=f"{says}: {crush_class}")
            )
        for stress_psi, specimens, mean_pct in archive.database.rows(_STRESSES, (series, sample)):
            words = f"{says}: {mean_pct:.2f} % of {specimens} specimens at {stress_psi:.0f} psi"
            mark = Mark(utc_ns=utc_ns, value=mean_pct, path=path, says=words)
            lines[stress_psi].append(mark)
        table.append(
            {"path": path, "number": laboratory_number, "received": clock_minute(utc_ns),
             "crush_class": crush_class or "", "bench": bench, "disputed": bool(disputed)}
        )  # fmt: skip
    found: dict[str, Any] = {"samples": table[::-1]}
    name = visible(source)
    if classes:
        found["class_figure"] = class_figure(classes, f"Crush class of {name}")
    if lines:
        series_of = [(f"{psi:.0f} psi", marks) for psi, marks in sorted(lines.items())]
        title = f"Mean fines of {name} at each stress"
        found["fines_figure"] = fines_figure(series_of, FINES_PCT, title)
    return found


def _equipment(bench: str, one: EquipmentState, utc_ns: int) -> dict[str, Any]:
    check, wear = one.check, one.wear(utc_ns)
    return {
        "bench": bench,
        "name": f"{check.equipment} {check.name}" + (f", No. {check.sieve}" if check.sieve else ""),
        "uses": number(one.uses, ",d"),
        "checked": day(check.utc_ns),
        "used": number(wear.used_pct if wear else None, ".0f"),
        "due": list(wear.due) if wear else [],
        "usable": check.usable,
    }


def _due(benches: Sequence[tuple[str, BenchRecord]]) -> list[dict[str, Any]]:
    """What has a last day: the newest certificates and inspections, the first that is due first."""
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    for bench, record in benches:
        for one in {one.instrument: one for one in record.certificates}.values():
            found[one.due, bench].append(f"certificate {one.certificate}")
        for state in record.equipment:
            check = state.check
            if check.due and check.usable:
                found[check.due, bench].append(f"{check.equipment} {check.name}")
    return [
        {"when": when, "bench": bench, "what": what}
        for (when, bench), what in sorted(found.items())
    ]


ROUTES = ((r"/over-time", over_time_page),)
