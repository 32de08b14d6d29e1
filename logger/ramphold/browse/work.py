"""Work: samples that are open, specimens by day and bench, and runs that did not pass."""

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from datasette.utils.asgi import Request, Response

from ramphold.browse.links import run_path, sample_path
from ramphold.browse.site import Site
from ramphold.browse.words import age, clock_minute, day, number
from ramphold.clock import NS_PER_S
from ramphold.collector.archive import Archive
from ramphold.sample import RunCheck, RunFinished, SampleState
from ramphold.wire import decode_body

_DAY_NS = 86_400 * NS_PER_S
_DAYS, _OPEN, _FAILED = 28, 25, 25
_OPEN_STATES = (SampleState.RECEIVED, SampleState.IN_TEST, SampleState.REVIEWED)
_OLDEST = """SELECT s.series, s.sample, s.laboratory_number, s.client_reference, s.received_utc_ns,
    s.specimens, s.counted, f.bench, f.disputed
    FROM sample_results s CROSS JOIN samples_in_force f
    WHERE f.series = s.series AND f.sample = s.sample AND s.role = 'client' AND s.state = ?
    ORDER BY s.received_utc_ns, s.series, s.sample LIMIT ?"""
# In whole days since 1970, UTC.
_BY_DAY = f"""SELECT r.started_utc_ns / {_DAY_NS} AS day, b.bench, count(DISTINCT r.specimen)
    FROM run_data r CROSS JOIN benches b
    WHERE b.series = r.series AND b.standing = 'in force' AND r.started_utc_ns >= ?
    GROUP BY r.started_utc_ns / {_DAY_NS}, b.bench"""  # noqa: S608 - a number of our own
_NOT_PASSED = """SELECT r.series, r.run, r.state, r.target_psi, r.started_utc_ns, b.bench, e.body,
    e.sample, p.label, p.because, s.laboratory_number, b.standing
    FROM run_data r CROSS JOIN benches b CROSS JOIN events e
    LEFT JOIN specimen_results p ON p.series = r.series AND p.specimen = r.specimen
    LEFT JOIN sample_results s ON s.series = r.series AND s.sample = e.sample
    WHERE b.series = r.series AND b.standing IN ('in force', 'disputed')
    AND e.series = r.series AND e.record = r.record
    AND (r.verdict IS NULL OR r.verdict <> 'pass') AND r.started_utc_ns > 0
    ORDER BY r.started_utc_ns DESC LIMIT ?"""


async def work_page(site: Site, request: Request) -> Response:
    """What is open, and what was done."""
    utc_ns = site.clock.utc_ns()
    return await site.show(
        request, "work.html", await site.read(lambda archive: _values(archive, utc_ns))
    )


def _values(archive: Archive, utc_ns: int) -> dict[str, Any]:
    return {
        "open": [_of_state(archive, state, utc_ns) for state in _OPEN_STATES],
        "days": _DAYS,
        **_by_day(archive, utc_ns),
        "failed": [_failed(row) for row in archive.database.rows(_NOT_PASSED, (_FAILED,))],
    }


def _of_state(archive: Archive, state: SampleState, utc_ns: int) -> dict[str, Any]:
    """The samples that have been in a state, or received, longest."""
    rows = archive.database.rows(_OLDEST, (state.value, _OPEN + 1))
    return {
        "state": str(state),
        "more": len(rows) > _OPEN,
        "rows": [
            {
                "path": sample_path(series, sample),
                "number": laboratory_number,
                "reference": reference,
                "age": age(utc_ns - received_utc_ns),
                "received": clock_minute(received_utc_ns),
                "counted": f"{counted} of {specimens}",
                "bench": bench,
                "disputed": disputed,
            }
            for series, sample, laboratory_number, reference, received_utc_ns, specimens, counted,
            bench, disputed in rows[:_OPEN]
        ],
    }  # fmt: skip


def _by_day(archive: Archive, utc_ns: int) -> dict[str, Any]:
    """Crushed specimens of each bench on each of the last days, the newest first."""
    today = utc_ns // _DAY_NS
    rows = archive.database.rows(_BY_DAY, ((today - _DAYS + 1) * _DAY_NS,))
    counts: dict[int, dict[str, int]] = defaultdict(dict)
    for day_number, bench, count in rows:
        counts[day_number][bench] = counts[day_number].get(bench, 0) + count
    benches = sorted({bench for _, bench, _ in rows})
    most = max((count for _, _, count in rows), default=0)
    shown = range(today, today - _DAYS, -1) if rows else ()
    return {
        "benches": benches,
        "totals": [number(sum(one.get(bench, 0) for one in counts.values()), ",d")
                   for bench in benches],
        "by_day": [
            {
                "day": day(number_ * _DAY_NS),
                "counts": [_bar(counts[number_].get(bench, 0), most) for bench in benches],
                "total": sum(counts[number_].values()),
            }
            for number_ in shown
        ],
    }  # fmt: skip


def _bar(count: int, most: int) -> dict[str, int]:
    return {"count": count, "share": round(100 * count / most) if most else 0}


def _failed(row: tuple[Any, ...]) -> dict[str, Any]:
    series, run, state, target_psi, started_utc_ns, bench, body, sample, *what = row
    label, because, name, standing = what
    record = decode_body(body)
    reasons = list(_reasons(record)) if isinstance(record, RunFinished) else []
    return {
        "path": run_path(series, run),
        "run": run,
        "bench": bench,
        "state": state,
        "started": clock_minute(started_utc_ns),
        "operator": record.operator,
        "target": number(target_psi, ",.0f"),
        "sample": name and {"number": name, "path": sample_path(series, sample)},
        "label": label,
        "reasons": reasons,
        "because": because or "",
        "disputed": standing == "disputed",
    }


def _reasons(record: RunFinished) -> Iterator[str]:
    """Why a run did not pass: how it ended, and each check outside its limits."""
    if record.state != "complete":
        yield record.reason
    for one in record.checks:
        if one.passed is False:
            yield f"{one.name} {_measured(one)}"


def _measured(check: RunCheck) -> str:
    value = "not measured" if check.value is None else f"{check.value:.4g} {check.unit}".rstrip()
    if check.low is not None and check.high is not None:
        return f"{value}, allowed {check.low:.4g} to {check.high:.4g}"
    if check.high is not None:
        return f"{value}, allowed up to {check.high:.4g}"
    return value if check.low is None else f"{value}, allowed from {check.low:.4g}"


ROUTES = ((r"/work", work_page),)
